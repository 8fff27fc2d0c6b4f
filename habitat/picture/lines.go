package picture

import (
	"cmp"
	"slices"
)

// labelled is how many patches get their number on the map.
const labelled = 25

// lw is the unit of line width on the map: one pixel at the smallest size.
func (p *page) lw() float64 { return p.u / leastText }

// streamWidth grows with stream order; unknown orders count as the smallest.
func (p *page) streamWidth(order int) float64 {
	return p.lw() * (0.8 + 0.6*float64(min(max(order, 1), 8)))
}

func (p *page) path(points [][2]float64) []pt {
	out := make([]pt, len(points))
	for i, c := range points {
		out[i] = p.toPage(c)
	}
	return out
}

// ring is path with its end joined to its start.
func (p *page) ring(points [][2]float64) []pt {
	out := p.path(points)
	if len(out) > 1 {
		out = append(out, out[0])
	}
	return out
}

// sift leaves out the smallest streams where all of them together would cover
// the map: from the lowest order up, until lines lie on average spacing
// pixels apart. It gives what is left and its lowest order, 0 when nothing was
// left out. The largest order always stays.
func sift(p *page, spacing float64) ([]Line, int) {
	const orders = 9
	of := func(l Line) int { return min(max(l.Order, 1), orders-1) }
	var length [orders]float64
	total, top := 0.0, 1
	for _, l := range p.s.Streams {
		d := p.drawnLength(p.path(l.Points))
		length[of(l)] += d
		total += d
		top = max(top, of(l))
	}
	most := float64(p.mapRect.Dx()*p.mapRect.Dy()) / spacing
	least := 1
	for least < top && total > most {
		total -= length[least]
		least++
	}
	if least == 1 {
		return p.s.Streams, 0
	}
	var out []Line
	for _, l := range p.s.Streams {
		if of(l) >= least {
			out = append(out, l)
		}
	}
	return out, least
}

// drawStreams lays all water on one mask, over a light casing that lifts it
// off the dark end of the ramp.
func drawStreams(p *page) {
	casing, core := newMask(p.mapRect), newMask(p.mapRect)
	for _, l := range p.streams {
		path, w := p.path(l.Points), p.streamWidth(l.Order)
		casing.line(path, w+1.8*p.lw())
		core.line(path, w)
	}
	p.paint(casing, white, 0.75)
	p.paint(core, water, 1)
}

// showsArea is false for a map so thin that it would be all boundary.
func (p *page) showsArea() bool {
	return len(p.s.Area) > 0 && float64(min(p.mapRect.Dx(), p.mapRect.Dy())) >= 16*p.lw()
}

func drawArea(p *page) {
	if !p.showsArea() {
		return
	}
	m, h := newMask(p.mapRect), newMask(p.mapRect)
	for _, r := range p.s.Area {
		ring := p.ring(r)
		h.line(ring, 3.4*p.lw())
		m.dashes(ring, 1.5*p.lw(), 9*p.lw(), 4*p.lw(), 0.01, 4*p.lw())
	}
	p.paint(h, white, 0.7)
	p.paint(m, ink, 0.9)
}

// drawOutlines draws the patches; those without a number on the map are
// thinner.
func drawOutlines(p *page) {
	halo, minor, major := newMask(p.mapRect), newMask(p.mapRect), newMask(p.mapRect)
	for k, o := range p.patches {
		for _, r := range o.Rings {
			ring := p.ring(r)
			if k < p.numbered {
				halo.line(ring, 5*p.lw())
				major.line(ring, 2.2*p.lw())
			} else {
				halo.line(ring, 3.2*p.lw())
				minor.line(ring, 1.3*p.lw())
			}
		}
	}
	p.paint(halo, white, 0.85)
	p.paint(minor, patch, 0.9)
	p.paint(major, patch, 1)
}

// choose puts the patches in order of rank, those without one last, and keeps
// the best: all that get a number, then as many more as leave the map
// readable, until their edges lie on average spacing pixels apart. numbered
// is how many at the front get a number.
func choose(p *page, spacing float64) (kept []Outline, numbered int) {
	all := slices.Clone(p.s.Outlines)
	unranked := func(o Outline) bool { return o.Rank < 1 }
	slices.SortStableFunc(all, func(a, b Outline) int {
		if unranked(a) != unranked(b) {
			if unranked(a) {
				return 1
			}
			return -1
		}
		return cmp.Compare(a.Rank, b.Rank)
	})
	left := float64(p.mapRect.Dx()*p.mapRect.Dy()) / spacing
	for i, o := range all {
		for _, r := range o.Rings {
			left -= p.drawnLength(p.ring(r))
		}
		if i < labelled && !unranked(o) {
			numbered++
		} else if left < 0 {
			return all[:i], numbered
		}
	}
	return all, numbered
}

// drawnLength is the length, in pixels, of what of a path lies on the map.
func (p *page) drawnLength(path []pt) float64 {
	sum := 0.0
	for i := 1; i < len(path); i++ {
		if a, b, ok := clip(path[i-1], path[i], p.mapRect, 0); ok {
			sum += dist(a, b)
		}
	}
	return sum
}
