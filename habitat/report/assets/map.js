// The map: pictures of relief and suitability, and over them what the run knows,
// each in a layer that can be put away.
{
  const d = page.data;
  const turn = (line) => line.map((p) => [p[1], p[0]]);
  const map = L.map("map", { attributionControl: false, zoomSnap: 0.25, zoomDelta: 0.5, preferCanvas: false, maxZoom: 19, zoomAnimation: !matchMedia("(prefers-reduced-motion: reduce)").matches });
  page.map = map;
  const view = L.latLngBounds(turn(d.view));
  page.bounds = view;
  map.fitBounds(view, { animate: false });
  let homeZoom = map.getZoom();
  // home shows all of the ground in the box as it is now.
  page.home = () => {
    map.invalidateSize({ animate: false });
    map.fitBounds(view, { animate: false });
    homeZoom = map.getZoom();
    draw();
  };
  map.setMaxBounds(view.pad(0.6));
  L.control.scale({ metric: true, imperial: true, maxWidth: 140 }).addTo(map);

  // Panes set what lies over what.
  ["access", "streams", "ways", "patches", "points"].forEach((name, i) => { map.createPane(name).style.zIndex = 410 + 10 * i; });

  const bounds = L.latLngBounds(turn(d.bounds));
  const picture = (id, opacity) => {
    const img = document.getElementById(id);
    if (!img) return null;
    img.alt = "";
    return L.imageOverlay(img, bounds, { opacity: opacity, className: "pixels" });
  };
  const relief = picture("relief", 1);
  const suitability = picture("suitability", 0.9);

  const streams = L.layerGroup(d.streams.map((s) => L.polyline(s.lines.map(turn), { pane: "streams", color: "#20609f", near: Math.min(1.4 + (s.order || 1) * 0.5, 4.5), opacity: 0.95, smoothFactor: 0.6 })
    .bindTooltip(make("span", {}, s.name || "no name", s.order ? ", order " + s.order : ""), { sticky: true })));

  const ground = L.layerGroup(d.access.map((a) => {
    const look = accessLook[a.status] || accessLook.unknown;
    return L.polygon(a.shape.map((poly) => poly.map(turn)), Object.assign({ pane: "access", weight: 2, fill: true, smoothFactor: 0 }, look))
      .bindTooltip(make("span", {}, "who may enter: " + (accessWords[a.status] || a.status)), { sticky: true });
  }));

  const area = L.layerGroup(d.area.map((r) => L.polygon(turn(r), { pane: "access", color: "#16201c", weight: 1.5, dashArray: "6 4", fill: false, interactive: false, smoothFactor: 0 })));

  const walked = d.candidates.filter((c) => c.walk && c.walk.ok);
  const ways = L.layerGroup(walked.filter((c) => c.walk.line.length > 1).map((c) => L.polyline(turn(c.walk.line), { pane: "ways", color: "#16201c", weight: 2.5, dashArray: "5 5", smoothFactor: 0 })
    .bindTooltip(make("span", {}, "to patch " + c.rank + ": " + c.walk.note), { sticky: true })));

  const spot = (at, mark, words) => L.marker([at[1], at[0]], { pane: "points", keyboard: false, icon: L.divIcon({ className: "spot", html: mark, iconSize: [16, 16] }) }).bindTooltip(make("span", {}, words));
  const entrySpot = (c) => spot(c.walk.entryAt, '<svg viewBox="0 0 16 16" width="16" height="16"><rect x="3" y="3" width="10" height="10" fill="#fff" stroke="#16201c" stroke-width="2.5"/></svg>', "entry to patch " + c.rank);
  const startSpot = (w) => {
    const parking = w.startKind === "parking";
    return spot(w.startAt, '<svg viewBox="0 0 16 16" width="16" height="16"><circle cx="8" cy="8" r="7" fill="#16201c"/>' + (parking ? '<text x="8" y="12" text-anchor="middle" font-size="11" font-weight="700" fill="#fff">P</text>' : '<circle cx="8" cy="8" r="3" fill="#fff"/>') + "</svg>", parking ? w.start || "parking" : "start on the road");
  };
  const entries = L.layerGroup();
  const starts = new Map();
  for (const c of walked) {
    entries.addLayer(entrySpot(c));
    const key = c.walk.startAt.join();
    if (!starts.has(key)) starts.set(key, c.walk);
  }
  for (const w of starts.values()) entries.addLayer(startSpot(w));

  // The way to the patch that is open shows by itself.
  const own = L.layerGroup().addTo(map);
  const wayTo = (c) => {
    own.clearLayers();
    if (!c || !c.walk || !c.walk.ok) return;
    if (c.walk.line.length > 1) {
      own.addLayer(L.polyline(turn(c.walk.line), { pane: "ways", color: "#fff", weight: 6, interactive: false, smoothFactor: 0 }));
      own.addLayer(L.polyline(turn(c.walk.line), { pane: "ways", color: "#16201c", weight: 3, dashArray: "6 5", smoothFactor: 0 }).bindTooltip(make("span", {}, c.walk.note), { sticky: true }));
    }
    own.addLayer(entrySpot(c));
    own.addLayer(startSpot(c.walk));
  };

  // From afar thin outlines, so that the ground between them shows.
  const plain = { pane: "patches", color: "#7a2b12", weight: 1, fillColor: "#7a2b12", fillOpacity: 0.04, smoothFactor: 0 };
  const lit = { color: "#16201c", weight: 5, opacity: 1, fillOpacity: 0.15 }, away = { opacity: 0.25, fillOpacity: 0 };
  const shapes = new Map(), numbers = new Map(), crossing = new Set();
  const patches = L.layerGroup(), badges = L.layerGroup();
  for (const c of d.candidates) {
    const words = make("span", {}, make("b", {}, "Patch " + c.rank), (c.learning ? " (learning visit)" : "") + ": " + streamName(c) + ", " + figure(c.ha, 1) + " ha, suitability " + figure(c.suitability, 2) + ", expected finds " + figure(c.finds, 1));
    const shape = L.polygon(c.shape.map((poly) => poly.map(turn)), plain).bindTooltip(words, { sticky: true });
    shape.on("click", () => page.open(c.rank, "map"));
    shape.on("mouseover", () => page.say("point", c.rank, true));
    shape.on("mouseout", () => page.say("point", c.rank, false));
    shapes.set(c.rank, shape);
    const badge = L.marker([c.at[1], c.at[0]], { pane: "points", keyboard: false, icon: L.divIcon({ className: c.learning ? "number learning" : "number", html: "<b>" + Number(c.rank) + "</b>", iconSize: [0, 0] }) });
    badge.on("click", () => page.open(c.rank, "map"));
    numbers.set(c.rank, badge);
    patches.addLayer(shape);
    patches.addLayer(badge);
  }

  const points = L.layerGroup(d.points.map((p) => L.circleMarker([p.at[1], p.at[0]], { pane: "points", radius: p.finds ? 7 : 5, color: "#16201c", weight: 2, fillColor: p.finds ? "#ffd24d" : "#fff", fillOpacity: 1 })
    .bindTooltip(make("span", {}, p.date + ": " + treeName(p.host) + ", " + (p.inspected ? "trees with finds " : "") + page.seenAt(p) + (p.finds && p.confirmed !== "yes" ? ", not confirmed by spore print" : "") + (p.note ? " (" + p.note + ")" : "")))));

  const dayOut = page.dayOut && page.dayOut();
  const layers = [
    ["relief", "Relief", relief], ["suitability", "Suitability", suitability], ["streams", "Streams", d.streams.length && streams],
    ["access", "Who may enter", d.access.length && ground], ["ways", "All ways in", walked.length && ways], ["entries", "Entries, starts", walked.length && entries],
    ["patches", "Patches", patches], ["points", "Your records", d.points.length && points], ["trip", "The day out", dayOut], ["area", "Edge", d.area.length && area],
  ].filter((l) => l[2]);
  const box = document.getElementById("layers");
  for (const [id, words, layer] of layers) {
    const tick = make("input", { type: "checkbox", "data-layer": id });
    tick.checked = !["access", "ways", "entries"].includes(id);
    const set = () => (tick.checked ? layer.addTo(map) : layer.remove());
    tick.addEventListener("change", () => { set(); if (id === "suitability") suitability.setOpacity(slide.value / 100); });
    box.append(make("label", {}, tick, words));
    if (tick.checked) layer.addTo(map);
  }
  const slide = document.getElementById("opacity");
  slide.addEventListener("input", () => suitability.setOpacity(slide.value / 100));

  // Numbers crowd a small map: the open one stands, then the better wherever
  // they have room. Drawing near makes room for all.
  const wide = 28, high = 21;
  const thin = () => {
    const pass = new Set(page.shown), stand = [];
    for (const rank of [page.opened, ...numbers.keys()]) {
      const e = rank && numbers.get(rank).getElement();
      if (!e || (rank === page.opened && stand.length)) continue;
      const p = map.latLngToLayerPoint(numbers.get(rank).getLatLng());
      const room = pass.has(rank) && stand.every((q) => Math.abs(p.x - q.x) >= wide || Math.abs(p.y - q.y) >= high);
      if (room) stand.push(p);
      e.style.display = room ? "" : "none";
    }
  };
  const draw = () => {
    const near = map.getZoom() >= homeZoom + 1;
    plain.weight = near ? 2 : 1;
    streams.eachLayer((s) => s.setStyle({ weight: s.options.near * (near ? 1 : 0.5) }));
    for (const [rank, shape] of shapes) if (rank !== page.opened && !crossing.has(rank)) shape.setStyle({ weight: plain.weight });
    thin();
  };
  map.on("zoomend", draw);
  patches.on("add", draw);

  const dress = (rank, on) => {
    const shape = shapes.get(rank);
    if (!shape) return;
    shape.setStyle(on ? lit : page.shown.includes(rank) ? Object.assign({ opacity: 1 }, plain) : Object.assign({}, plain, away));
    if (on) crossing.add(rank);
    else crossing.delete(rank);
    if (on) shape.bringToFront();
    const e = numbers.get(rank).getElement();
    if (e) e.classList.toggle("on", on);
    numbers.get(rank).setZIndexOffset(on ? 1000 : 0);
  };
  let last = 0;
  page.on("point", (rank, on) => dress(rank, on || rank === page.opened));
  page.on("open", (rank, from) => {
    if (last) dress(last, false);
    last = rank;
    thin();
    wayTo(page.patch(rank));
    if (!rank) return;
    dress(rank, true);
    const box = shapes.get(rank).getBounds();
    if (from !== "map" || !map.getBounds().contains(box)) map.flyToBounds(box.pad(1.2), { maxZoom: 16, duration: 0.4, animate: !matchMedia("(prefers-reduced-motion: reduce)").matches });
  });
  page.on("sieve", () => {
    const pass = new Set(page.shown);
    for (const [rank, shape] of shapes) shape.setStyle(pass.has(rank) ? { opacity: 1, fillOpacity: plain.fillOpacity } : away);
    if (page.opened) dress(page.opened, true);
    thin();
  });
  const key = document.getElementById("key");
  const line = (look, words) => key.append(make("li", {}, sample(look), words));
  line({ color: "#7a2b12", weight: 2.5, fillOpacity: 0.05 }, "patch");
  line({ line: true, color: "#20609f", weight: 3 }, "stream");
  if (walked.length) line({ line: true, color: "#16201c", dashArray: "5 4", weight: 2.5 }, "way in");
  if (dayOut) line({ line: true, color: "#6a1b6b", weight: 4 }, "the day out");
  if (d.area.length) line({ line: true, color: "#16201c", dashArray: "7 4", weight: 1.5 }, "edge of the map");
  for (const a of d.access) line(accessLook[a.status] || accessLook.unknown, landWords[a.status] || a.status);
}
