// A planned day: its way and its stops over the map, in a layer of their own.
{
  const d = page.data.trip;
  page.dayOut = null;
  if (d) {
    const turn = (line) => line.map((p) => [p[1], p[0]]);
    const words = (i) => { const s = d.stops[i]; return "stop " + (i + 1) + ", patch " + s.label + ": " + s.arrive + " to " + s.depart + ", " + s.trees + " trees"; };
    page.dayOut = () => {
      const group = L.layerGroup();
      d.legs.forEach((leg, i) => {
        const to = i < d.stops.length ? "to " + words(i) : "back to the start, " + d.back;
        group.addLayer(L.polyline(turn(leg), { pane: "ways", color: "#fff", weight: 8, interactive: false, smoothFactor: 0 }));
        group.addLayer(L.polyline(turn(leg), { pane: "ways", color: "#6a1b6b", weight: 4, smoothFactor: 0 }).bindTooltip(make("span", {}, to), { sticky: true }));
      });
      const mark = (at, text, tip) => L.marker([at[1], at[0]], { pane: "points", keyboard: false, zIndexOffset: 500, icon: L.divIcon({ className: "daystop", html: "<b>" + text + "</b>", iconSize: [0, 0] }) }).bindTooltip(make("span", {}, tip));
      d.stops.forEach((s, i) => group.addLayer(mark(s.at, Number(i + 1), words(i)).on("click", () => page.open(s.rank, "map"))));
      group.addLayer(mark(d.start, "S", "start" + (d.name ? ": " + d.name : "") + ", leave " + d.leave + ", back " + d.back));
      return group;
    };
    // The day's list opens patches as the list of patches does.
    for (const row of document.querySelectorAll("#day tr[data-stop]")) {
      const cell = row.children[1], rank = Number(row.getAttribute("data-stop"));
      if (!page.patch(rank)) continue;
      const button = make("button", { type: "button" }, cell.textContent);
      button.addEventListener("click", () => page.open(rank, "list"));
      cell.replaceChildren(button);
    }
  }
}
