// What is known of one patch, in a row under its own.
{
  const row = make("tr", { role: "row", className: "opened", id: "opened", tabindex: "-1" });
  const pair = (name, value) => (value === null || value === undefined || value === "" ? null : make("div", {}, make("dt", {}, name), make("dd", {}, value)));
  const range = (low, high, n) => (low === null || high === null ? "" : " (" + figure(low, n) + " to " + figure(high, n) + ")");

  function numbers(c) {
    return make("div", {}, make("h3", {}, "Numbers"), make("dl", {},
      pair("Suitability", figure(c.suitability, 2) + ", at most " + figure(c.most, 2)), pair("Bottomland", figure(c.bottomland, 2)),
      pair("Expected finds", figure(c.finds, 1) + range(c.findsLow, c.findsHigh, 1)),
      pair("Trees to check", c.check ? c.check + (c.holds ? "" : "* (more than it should hold)") : "no number is enough"),
      pair("Dead or dying trees", figure(c.dead, 0)), c.confidence === null ? null : pair("Sure of its rank", percent(c.confidence)),
      pair("Area", figure(c.ha, 1) + " ha (" + figure(c.ha === null ? null : c.ha * 2.4710538, 1) + " acres)"),
      pair("Above the stream", c.height === null ? "–" : figure(c.height, 1) + " m"), pair("Slope", figure(c.slope, 1) + " %"),
      pair("To the stream", metres(c.streamM) + (c.order ? ", order " + c.order : "")), pair("Cover", c.cover ? c.cover.replace(/_/g, " ") + (c.coverShare === null ? "" : ", " + percent(c.coverShare)) : ""),
      pair("Held down by", c.limiting === "none" ? "" : c.limiting), c.measured ? pair("Trees measured on", percent(c.measured)) : null,
      c.shift ? pair("Moved by the layers", (c.shift > 0 ? "+" : "−") + figure(Math.abs(c.shift), 2) + " log-odds") : null,
      c.outside ? pair("Ground measured otherwise", percent(c.outside)) : null, pair("Score", figure(c.score, 2))));
  }

  function trees(c) {
    const list = (c.trees || []).slice(0, 8);
    const winter = list.map((t) => t.host).filter((h) => page.data.winter[h]).slice(0, 4);
    const first = c.firstHost && page.data.winter[c.firstHost] && !winter.includes(c.firstHost) ? [c.firstHost] : [];
    const order = [...first, ...winter].sort((a, b) => (b === c.firstHost) - (a === c.firstHost));
    return make("div", {}, make("h3", {}, "Trees it should hold, living and dead"),
      make("dl", {}, ...list.map((t) => pair(t.host, figure(t.n, 0) + range(t.low, t.high, 0)))),
      order.length ? make("h3", {}, "Know them in winter") : null,
      make("ul", {}, ...order.map((h) => make("li", {}, make("b", {}, h), ": " + page.data.winter[h]))));
  }

  function place(name, at, grid) {
    const text = at[1].toFixed(5) + ", " + at[0].toFixed(5);
    const link = make("a", { href: "geo:" + at[1] + "," + at[0] }, text);
    const copy = make("button", { type: "button" }, "Copy", make("span", { className: "quiet" }, " the place: " + name.toLowerCase()));
    const told = make("span", { role: "status" });
    copy.addEventListener("click", () => {
      const done = () => { told.textContent = " Copied"; setTimeout(() => { told.textContent = ""; }, 2500); };
      // Where the browser forbids it, the text is marked, ready to be copied by hand.
      const mark = () => { getSelection().selectAllChildren(link); told.textContent = " Marked: copy it by hand"; };
      if (navigator.clipboard) navigator.clipboard.writeText(text).then(done, mark);
      else mark();
    });
    return make("div", {}, make("dt", {}, name), make("dd", {}, link, make("br"), grid ? "E " + grid[0] + "  N " + grid[1] : "", " ", copy, told));
  }

  function way(c) {
    const w = c.walk;
    return make("div", {}, make("h3", {}, "Who may enter"), make("p", {}, c.accessNote || "not known: ask the owner first"),
      c.land && c.land.length ? make("p", {}, "Land: " + c.land.join("; ")) : null,
      w ? make("h3", {}, "Way in") : null, w ? make("p", {}, w.note) : null,
      w && w.ok ? make("p", {}, "Up " + metres(w.climb) + ", down " + metres(w.descent)) : null,
      w && w.cautions && w.cautions.length ? make("ul", { className: "warn" }, ...w.cautions.map((t) => make("li", {}, t))) : null,
      make("h3", {}, "Places (latitude, longitude; grid " + page.data.grid + ")"),
      make("dl", {}, w && w.ok ? place("Entry", w.entryAt, w.entryGrid) : null, place("Middle", c.at, c.gridAt), w && w.ok ? place("Start", w.startAt, null) : null));
  }

  function show() {
    const c = page.patch(page.opened);
    if (!c) { row.remove(); return; }
    const cell = make("td", { role: "cell", colSpan: 10 }, make("div", { className: "patch" },
      make("p", { className: "why" }, make("b", {}, "Patch " + c.rank + ". "), c.why),
      c.learning ? make("p", { className: "wide" }, "A learning visit: what you find here, or do not, teaches the map most.") : null,
      numbers(c), trees(c), way(c),
      c.evidence && c.evidence.length ? make("div", { className: "wide" }, make("h3", {}, "What the layers say"), make("p", {}, c.evidence.join("; "))) : null,
      make("p", { className: "wide warn" }, "Where to look, never what to eat: check every cap, print every cluster, ask an expert. Look up before you work under a dead tree.")));
    row.replaceChildren(cell);
    page.rows.get(c.rank).row.after(row);
  }
  page.on("open", (rank, from) => {
    show();
    // Beside the map the list follows; under it, on a phone, the map keeps its place.
    if (rank && from === "map" && matchMedia("(min-width: 1201px)").matches) page.rows.get(rank).row.scrollIntoView({ block: "start" });
  });
  page.on("place", show);
}
