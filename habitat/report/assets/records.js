// The forager's own records as a table, the newest first.
{
  const most = 200, d = page.data, box = document.getElementById("records");
  const seen = (p) => (p.host === "none" ? "looked, no host tree there" : p.inspected ? p.finds + " of " + p.inspected : p.host ? "looked, none there" : "–");
  if (box) {
    const list = [...d.points].sort((a, b) => (a.date < b.date) - (a.date > b.date));
    const heads = ["Date", "Tree", "Condition", "Trees with finds", "Spore print", "Note"];
    const print = (p) => (p.finds ? { yes: "confirmed", no: "not confirmed" }[p.confirmed] || "not told" : "–");
    box.append(make("div", { className: "scroll records", tabindex: "0", role: "region", "aria-label": "Your records" }, make("table", {},
      make("thead", {}, make("tr", {}, ...heads.map((h) => make("th", { scope: "col", className: "words" }, h)))),
      make("tbody", {}, ...list.slice(0, most).map((p) => make("tr", {}, ...[p.date, treeName(p.host), p.condition || "–", seen(p), print(p), p.note].map((text) => make("td", { className: "words" }, text))))))));
    if (list.length > most) box.append(make("p", { className: "note" }, "The newest " + most + " of " + list.length + "; all are on the map."));
  }
  page.seenAt = seen;
}
