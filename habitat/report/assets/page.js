// What all parts of the page share: its data, its words, and how they are told
// that a patch was chosen, opened or pointed at.
"use strict";
document.body.classList.add("scripted"); // before the map measures its box
const page = {
  data: JSON.parse(document.getElementById("data").textContent),
  shown: [],          // ranks that pass the sieve, in the order of the list
  opened: 0,          // rank of the patch whose details are open, 0 = none
  chosen: new Set(),  // ranks to print
  heard: {},
  on(what, tell) { (this.heard[what] = this.heard[what] || []).push(tell); },
  say(what, ...with_) { for (const tell of this.heard[what] || []) tell(...with_); },
  patch(rank) { return this.byRank.get(rank); },
  // open shows the details of a patch, wherever that was asked for.
  open(rank, from) {
    this.opened = rank === this.opened && from !== "map" ? 0 : rank;
    this.say("open", this.opened, from);
  },
};
page.byRank = new Map(page.data.candidates.map((c) => [c.rank, c]));

// make builds an element. Text is set as text, never read as markup.
function make(tag, with_, ...inside) {
  const e = document.createElement(tag);
  for (const [k, v] of Object.entries(with_ || {})) {
    if (v === null || v === undefined || v === false) continue;
    if (k in e && k !== "list" && typeof v !== "string") e[k] = v;
    else e.setAttribute(k === "className" ? "class" : k, v === true ? "" : v);
  }
  for (const i of inside) if (i !== null && i !== undefined) e.append(i);
  return e;
}

const figure = (v, n) => (v === null || v === undefined ? "–" : v.toFixed(n));
const metres = (v) => (v === null || v === undefined ? "–" : v >= 1000 ? (v / 1000).toFixed(1) + " km" : Math.round(v) + " m");
const percent = (v) => (v === null || v === undefined ? "–" : Math.round(100 * v) + " %");
const streamName = (c) => c.stream || "unnamed stream";
const treeName = (id) => (id === "none" ? "any host tree" : page.data.hosts[id] || id || "tree not told");
const accessWords = { open: "open", permit: "permit", private: "private", closed: "closed", unknown: "not known" };
const landWords = { open: "open land", permit: "permit needed", private: "private land", closed: "closed land", unknown: "not known" };

// How each kind of ground is drawn on the map and beside words: by its line
// and hatching as well as its colour. The hatchings stand in page.html.
const accessLook = {
  open: { color: "#1b6e3c", dashArray: null, fillOpacity: 0.1 },
  permit: { color: "#5a3f99", dashArray: "8 4", fillColor: "url(#hatch-permit)", fillOpacity: 1 },
  private: { color: "#8a5a1d", dashArray: "2 4", fillColor: "url(#hatch-private)", fillOpacity: 1 },
  closed: { color: "#7a1010", dashArray: "12 3 2 3", fillColor: "url(#hatch-closed)", fillOpacity: 1 },
  unknown: { color: "#5a666c", dashArray: "1 6", fillOpacity: 0 },
};

const svgNS = "http://www.w3.org/2000/svg";
// sample draws a small key of a line style.
function sample(look) {
  const s = document.createElementNS(svgNS, "svg");
  s.setAttribute("viewBox", "0 0 34 16");
  s.setAttribute("aria-hidden", "true");
  const r = document.createElementNS(svgNS, look.line ? "path" : "rect");
  if (look.line) r.setAttribute("d", "M2 8H32");
  else for (const [k, v] of [["x", 2], ["y", 2], ["width", 30], ["height", 12]]) r.setAttribute(k, v);
  r.setAttribute("stroke", look.color);
  r.setAttribute("stroke-width", look.weight || 2);
  r.setAttribute("fill", look.line ? "none" : look.fillColor || look.color);
  r.setAttribute("fill-opacity", look.fillOpacity === undefined ? 1 : look.fillOpacity);
  if (look.dashArray) r.setAttribute("stroke-dasharray", look.dashArray);
  s.append(r);
  return s;
}
