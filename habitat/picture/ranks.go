package picture

import (
	"math"
	"strconv"
)

// box is a rectangle in pixels that labels keep clear of.
type box struct{ x0, y0, x1, y1 float64 }

func around(c pt, hw, hh float64) box { return box{c.x - hw, c.y - hh, c.x + hw, c.y + hh} }

func (b box) meets(o box) bool {
	return b.x0 < o.x1 && o.x0 < b.x1 && b.y0 < o.y1 && o.y0 < b.y1
}

// badge is one rank number and where it goes.
type badge struct {
	text   string
	anchor pt // a point of the patch
	at     pt // middle of the badge
	hw, hh float64
}

// drawRanks numbers the best patches and returns the ground the numbers take.
func drawRanks(p *page) []box {
	badges := placeRanks(p)
	st := p.style(p.faces.bold, 0.86)
	leaders, edge, body := newMask(p.plate), newMask(p.plate), newMask(p.plate)
	edgeLeader := newMask(p.plate)
	taken := make([]box, 0, len(badges))
	for _, b := range badges {
		if dist(b.anchor, b.at) > b.hh {
			edgeLeader.segment(b.anchor, b.at, 3.4*p.lw())
			leaders.segment(b.anchor, b.at, 1.5*p.lw())
			edgeLeader.disc(b.anchor, 3.2*p.lw())
			leaders.disc(b.anchor, 2.2*p.lw())
		}
		l, r := pt{b.at.x - (b.hw - b.hh), b.at.y}, pt{b.at.x + (b.hw - b.hh), b.at.y}
		edge.segment(l, r, 2*b.hh)
		body.segment(l, r, 2*b.hh-2.6*p.lw())
		taken = append(taken, around(b.at, b.hw, b.hh))
	}
	p.paint(edgeLeader, white, 0.9)
	p.paint(leaders, patch, 1)
	p.paint(edge, white, 1)
	p.paint(body, patch, 1)
	st.color = white
	for _, b := range badges {
		p.centered(st, b.at.x, b.at.y+st.face.capHeight*st.size/2, b.text)
	}
	return taken
}

// placeRanks finds a free place for each number, best rank first: on the
// patch's own edge or as near as can be, never on another number, off other
// patches when possible. A number that fits nowhere is left out.
func placeRanks(p *page) []badge {
	st := p.style(p.faces.bold, 0.86)
	hh := 0.72 * p.u
	var anchors []pt
	var badges []badge
	var rings [][]pt
	var extents []box
	for _, o := range p.patches[:p.numbered] {
		big := p.largest(o.Rings)
		if big == nil {
			continue
		}
		text := strconv.Itoa(o.Rank)
		badges = append(badges, badge{text: text, anchor: inside(big), hw: max(hh, st.width(text)/2+0.42*p.u), hh: hh})
		anchors = append(anchors, badges[len(badges)-1].anchor)
		rings = append(rings, big)
		lo, hi := bounds(big)
		extents = append(extents, box{lo.x, lo.y, hi.x, hi.y})
	}
	placed := badges[:0]
	for i, b := range badges {
		best, found := math.Inf(1), false
		b.at = b.anchor
		for _, at := range places(b, rings[i], p.u) {
			me := around(at, b.hw+0.1*p.u, b.hh+0.1*p.u)
			if me.x0 < float64(p.plate.Min.X) || me.y0 < float64(p.plate.Min.Y) || me.x1 > float64(p.plate.Max.X) || me.y1 > float64(p.plate.Max.Y) {
				continue
			}
			cost, free := dist(at, b.anchor)/p.u, true
			for _, o := range placed {
				if me.meets(around(o.at, o.hw, o.hh)) {
					free = false
					break
				}
				if crosses(at, b.anchor, o.at, o.anchor) || near(o.at, at, b.anchor) < o.hh {
					cost += 6
				}
			}
			if !free {
				continue
			}
			for j, a := range anchors {
				if j != i && me.meets(around(a, 0.3*p.u, 0.3*p.u)) {
					cost += 3
				}
			}
			for j, r := range rings {
				if me.meets(extents[j]) && touches(me, r) {
					cost += 2
					if j == i {
						cost -= 1.2 // its own edge is a fair place
					}
				}
			}
			if cost < best {
				best, found, b.at = cost, true, at
			}
		}
		if found {
			placed = append(placed, b)
		}
	}
	return placed
}

// places lists where a number may go: the anchor if the patch has room, then
// rings of points around it.
func places(b badge, ring []pt, u float64) []pt {
	var out []pt
	lo, hi := bounds(ring)
	if hi.x-lo.x > 7*u && hi.y-lo.y > 7*u {
		out = append(out, b.anchor)
	}
	for step := 1; step <= 14; step++ {
		r := b.hh + 0.9*u*float64(step)
		for a := range 16 {
			// From the upper right round by turns, as names are placed on maps
			// by common practice.
			s, c := math.Sincos(float64(a)*math.Pi/8 - math.Pi/4)
			out = append(out, pt{b.anchor.x + r*c, b.anchor.y + r*s})
		}
	}
	return out
}

// largest is the ring with the greatest area, in pixels, nil when none has
// three sound points.
func (p *page) largest(rings [][][2]float64) []pt {
	var best []pt
	most := -1.0
	for _, r := range rings {
		var ring []pt
		for _, c := range r {
			if q := p.toPage(c); q.finite() {
				ring = append(ring, q)
			}
		}
		if len(ring) < 3 {
			continue
		}
		if a := math.Abs(area(ring)); a > most {
			best, most = ring, a
		}
	}
	return best
}

func area(r []pt) float64 {
	s := 0.0
	for i, a := range r {
		b := r[(i+1)%len(r)]
		s += a.x*b.y - b.x*a.y
	}
	return s / 2
}

func bounds(r []pt) (lo, hi pt) {
	lo, hi = r[0], r[0]
	for _, q := range r {
		lo = pt{min(lo.x, q.x), min(lo.y, q.y)}
		hi = pt{max(hi.x, q.x), max(hi.y, q.y)}
	}
	return lo, hi
}
