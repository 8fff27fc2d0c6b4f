// Choosing patches, and printing a field sheet for each.
{
  const by = (id) => document.getElementById(id);
  const sheets = new Map([...document.querySelectorAll("#sheets .fieldsheet")].map((s) => [Number(s.dataset.rank), s]));
  function tell() {
    const n = page.chosen.size;
    by("print-chosen").disabled = !n;
    by("chosen").textContent = n ? n + (n === 1 ? " patch chosen" : " patches chosen") : "";
    by("choose-shown").textContent = page.shown.length && page.shown.every((r) => page.chosen.has(r)) ? "Choose none" : "Choose all shown";
    by("sheets").hidden = !n;
    document.body.classList.toggle("sheets", n > 0);
    for (const [rank, s] of sheets) s.hidden = !page.chosen.has(rank);
  }
  page.choose = (rank, on) => {
    if (on) page.chosen.add(rank);
    else page.chosen.delete(rank);
    page.rows.get(rank).tick.checked = on;
    tell();
  };
  by("choose-shown").addEventListener("click", () => {
    const on = !page.shown.every((r) => page.chosen.has(r));
    for (const r of page.shown) page.choose(r, on);
  });
  by("print-chosen").addEventListener("click", () => window.print());
  page.on("sieve", tell);

  // On paper the map has a size of its own, and shows all of the ground.
  const box = by("map");
  let was = null;
  addEventListener("beforeprint", () => {
    was = { center: page.map.getCenter(), zoom: page.map.getZoom() };
    box.classList.add("paper");
    page.map.invalidateSize({ animate: false });
    page.map.fitBounds(page.bounds, { animate: false });
  });
  addEventListener("afterprint", () => {
    box.classList.remove("paper");
    page.map.invalidateSize({ animate: false });
    if (was) page.map.setView(was.center, was.zoom, { animate: false });
  });
}
