// What the map tells in words under itself: the suitability where the pointer
// is, read back from the picture's colours, and the patch that is open.
{
  const d = page.data, pointed = document.getElementById("pointed"), picked = document.getElementById("picked");
  const unknown = "Suitability under the pointer: –";

  // The picture's colours, as a canvas keeps them: each part times its opacity.
  const solid = ([r, g, b, a]) => [(r * a) / 255, (g * a) / 255, (b * a) / 255, a];
  const colours = d.ramp.map(solid);

  // What a colour says, or null where it is none of the ramp's: some browsers
  // keep pages from reading pictures and give other colours.
  function value(pixel) {
    if (!pixel[3]) return null;
    const [r, g, b, a] = solid(pixel);
    let best = -1, least = 150;
    colours.forEach(([cr, cg, cb, ca], i) => {
      const off = (r - cr) ** 2 + (g - cg) ** 2 + (b - cb) ** 2 + (a - ca) ** 2;
      if (off < least) { least = off; best = i; }
    });
    return best < 0 ? null : best / (colours.length - 1);
  }

  let picture = null;
  function pixels() {
    if (picture) return picture;
    const img = document.getElementById("suitability");
    if (!img.complete || !img.naturalWidth) return null;
    const canvas = document.createElement("canvas");
    canvas.width = img.naturalWidth;
    canvas.height = img.naturalHeight;
    picture = canvas.getContext("2d", { willReadFrequently: true });
    picture.drawImage(img, 0, 0);
    return picture;
  }

  // The picture and the map share one projection, so that places are straight.
  const [sw, ne] = d.bounds.map((p) => page.map.project([p[1], p[0]], 0));
  page.valueAt = (at) => {
    const p = page.map.project(at, 0), from = pixels();
    const x = (p.x - sw.x) / (ne.x - sw.x), y = (p.y - ne.y) / (sw.y - ne.y);
    if (!from || !(x >= 0 && x < 1 && y >= 0 && y < 1)) return null;
    return value(from.getImageData(Math.floor(x * from.canvas.width), Math.floor(y * from.canvas.height), 1, 1).data);
  };
  const tell = (e) => {
    const v = page.valueAt(e.latlng);
    pointed.textContent = v === null ? unknown : "Suitability under the pointer: " + figure(v, 2) + " at " + e.latlng.lat.toFixed(5) + ", " + e.latlng.lng.toFixed(5);
  };
  page.map.on("mousemove click", tell);
  page.map.on("mouseout", () => { pointed.textContent = unknown; });

  page.on("open", (rank) => {
    const c = page.patch(rank);
    if (!c) { picked.textContent = "No patch is open."; return; }
    picked.replaceChildren(make("b", {}, "Patch " + rank), ": " + streamName(c) + ", " + figure(c.ha, 1) + " ha, suitability " + figure(c.suitability, 2) + ", expected finds " + figure(c.finds, 1) +
      ", who may enter: " + (accessWords[c.access] || c.access) + ". ", make("a", { href: "#opened" }, "Read more"));
  });
}
