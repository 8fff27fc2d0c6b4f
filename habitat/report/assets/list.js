// The list of patches: sorted by a column, narrowed by the sieve, walked with
// the arrow keys, and tied to the map.
{
  const d = page.data;
  const walkOf = (c) => (c.walk && c.walk.ok ? c.walk.m : null);
  const columns = [
    { id: "rank", head: "No.", full: "rank", of: (c) => c.rank },
    { id: "stream", head: "Patch", full: "stream", of: (c) => streamName(c), words: true },
    { id: "ha", head: "ha", full: "area in hectares", of: (c) => c.ha, text: (c) => figure(c.ha, 1), down: true },
    { id: "suitability", head: "Suit.", full: "mean suitability", of: (c) => c.suitability, text: (c) => figure(c.suitability, 2), down: true },
    { id: "finds", head: "Finds", full: "expected finds", of: (c) => c.finds, text: (c) => figure(c.finds, 1), down: true },
    { id: "check", head: "Check", full: "trees to check", of: (c) => c.check || null, text: (c) => (c.check ? c.check + (c.holds ? "" : "*") : "–") },
    { id: "walk", head: "Walk", full: "length of the walk", of: walkOf, text: (c) => metres(walkOf(c)) },
    { id: "access", head: "Entry", full: "who may enter", of: (c) => ["open", "permit", "private", "unknown", "closed"].indexOf(c.access), words: true },
    { id: "score", head: "Score", of: (c) => c.score, text: (c) => figure(c.score, 2), down: true },
  ];
  const labels = { ha: "ha", suitability: "suit.", finds: "finds", check: "to check", walk: "walk", access: "entry", score: "score" };
  let sortBy = columns[0], down = false;

  const heads = document.getElementById("heads"), body = document.querySelector("#list tbody");
  heads.append(make("th", { className: "tick", scope: "col", role: "columnheader" }, make("span", { className: "quiet" }, "Print")));
  for (const col of columns) {
    const arrow = make("span", { className: "dir", "aria-hidden": "true" });
    const button = make("button", { type: "button", "data-sort": col.id, title: "Sort by " + (col.full || col.head.toLowerCase()) }, col.head, arrow);
    const head = make("th", { scope: "col", role: "columnheader", className: col.words ? "words" : null }, button);
    button.addEventListener("click", () => {
      down = col === sortBy ? !down : !!col.down;
      sortBy = col;
      fill();
    });
    col.cell = head;
    col.arrow = arrow;
    heads.append(head);
  }

  const rows = new Map();
  for (const c of d.candidates) {
    const tick = make("input", { type: "checkbox", "aria-label": "print patch " + c.rank, "data-choose": String(c.rank) });
    tick.addEventListener("change", () => page.choose(c.rank, tick.checked));
    const cells = columns.map((col) => {
      if (col.id === "stream") {
        const button = make("button", { type: "button", "aria-expanded": "false", "data-number": c.rank + ". " }, streamName(c), c.learning ? " (learning visit)" : "");
        button.addEventListener("click", () => page.open(c.rank, "list"));
        return make("td", { role: "cell", className: "words name" }, button);
      }
      if (col.id === "access") return make("td", { role: "cell", className: "words access", "data-label": labels.access }, sample(accessLook[c.access] || accessLook.unknown), accessWords[c.access] || c.access);
      return make("td", { role: "cell", "data-label": labels[col.id] || "No.", className: col.id === "rank" ? "rank" : null }, col.text ? col.text(c) : String(col.of(c)));
    });
    const row = make("tr", { role: "row", "data-rank": String(c.rank) }, make("td", { role: "cell", className: "tick" }, tick), ...cells);
    row.addEventListener("mouseenter", () => page.say("point", c.rank, true));
    row.addEventListener("mouseleave", () => page.say("point", c.rank, false));
    row.addEventListener("focusin", () => page.say("point", c.rank, true));
    row.addEventListener("focusout", () => page.say("point", c.rank, false));
    rows.set(c.rank, { row, tick, button: row.querySelector(".name button") });
  }
  page.rows = rows;

  // The sieve.
  const by = (id) => document.getElementById(id);
  for (const s of ["open", "permit", "private", "unknown", "closed"]) if (d.candidates.some((c) => c.access === s)) by("who").append(make("option", { value: s }, accessWords[s]));
  for (const h of [...new Set(d.candidates.map((c) => c.firstHost).filter(Boolean))].sort()) by("tree").append(make("option", { value: h }, h));
  by("teach-label").hidden = !d.candidates.some((c) => c.learning);
  const said = (c) => [c.stream, c.firstHost, c.why, c.accessNote, ...(c.land || []), ...(c.evidence || []), c.walk ? c.walk.note + " " + (c.walk.start || "") : "", "patch " + c.rank].join(" ").toLowerCase();
  const texts = new Map(d.candidates.map((c) => [c.rank, said(c)]));
  const passes = (c) => {
    const find = by("find").value.trim().toLowerCase();
    if (find && !find.split(/\s+/).every((w) => texts.get(c.rank).includes(w))) return false;
    if (by("who").value && c.access !== by("who").value) return false;
    if (by("far").value && !(walkOf(c) !== null && walkOf(c) <= Number(by("far").value))) return false;
    if (by("tree").value && c.firstHost !== by("tree").value) return false;
    if (by("dry").checked && !(c.walk && c.walk.ok && c.walk.crossings === 0)) return false;
    return !by("teach").checked || c.learning;
  };

  function fill() {
    const list = d.candidates.filter(passes);
    list.sort((a, b) => {
      const x = sortBy.of(a), y = sortBy.of(b);
      if (x === null || y === null) return (x === null) - (y === null) || a.rank - b.rank; // what is not known comes last
      const order = typeof x === "string" ? x.localeCompare(y, "en") : x - y;
      return (down ? -order : order) || a.rank - b.rank;
    });
    page.shown = list.map((c) => c.rank);
    for (const col of columns) {
      col.arrow.textContent = col === sortBy ? (down ? " ▾" : " ▴") : "";
      if (col === sortBy) col.cell.setAttribute("aria-sort", down ? "descending" : "ascending");
      else col.cell.removeAttribute("aria-sort");
    }
    body.replaceChildren(...list.map((c) => rows.get(c.rank).row));
    by("count").textContent = list.length === d.candidates.length ? list.length + " patches" : list.length + " of " + d.candidates.length + " patches";
    if (page.opened && !page.shown.includes(page.opened)) page.open(page.opened, "sieve");
    else if (page.opened) page.say("place");
    page.say("sieve");
  }
  by("sieve").addEventListener("input", fill);
  by("sieve").addEventListener("submit", (e) => e.preventDefault());

  page.on("point", (rank, on) => rows.get(rank).row.classList.toggle("on", on || rank === page.opened));
  let last = 0;
  page.on("open", (rank) => {
    for (const [r, on] of [[last, false], [rank, true]]) {
      if (!r) continue;
      rows.get(r).row.classList.toggle("on", on);
      rows.get(r).button.setAttribute("aria-expanded", String(on));
    }
    last = rank;
  });

  // Arrows go from patch to patch, Escape closes what is open.
  body.addEventListener("keydown", (e) => {
    const row = e.target.closest("tr[data-rank]");
    const step = { ArrowDown: 1, ArrowUp: -1 }[e.key];
    if (!row || !step) return;
    const next = page.shown[page.shown.indexOf(Number(row.dataset.rank)) + step];
    if (!next) return;
    e.preventDefault();
    rows.get(next).button.focus();
  });
  document.addEventListener("keydown", (e) => {
    if (e.key !== "Escape" || !page.opened) return;
    const rank = page.opened;
    page.open(rank, "list");
    rows.get(rank).button.focus();
  });
  page.fill = fill;
}
