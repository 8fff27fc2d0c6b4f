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

// drawStreams lays all water on one mask, over a light casing that lifts it
// off the dark end of the ramp.
func drawStreams(p *page) {
	casing, core := newMask(p.mapRect), newMask(p.mapRect)
	for _, l := range p.s.Streams {
		path, w := p.path(l.Points), p.streamWidth(l.Order)
		casing.line(path, w+1.8*p.lw())
		core.line(path, w)
	}
	p.paint(casing, white, 0.75)
	p.paint(core, water, 1)
}

func drawArea(p *page) {
	m, h := newMask(p.mapRect), newMask(p.mapRect)
	for _, r := range p.s.Area {
		ring := p.ring(r)
		h.line(ring, 3.4*p.lw())
		m.dashes(ring, 1.5*p.lw(), 9*p.lw(), 4*p.lw(), 0.01, 4*p.lw())
	}
	p.paint(h, white, 0.7)
	p.paint(m, ink, 0.9)
}

// drawOutlines draws patches by falling rank, so that the best lie on top;
// those without a number on the map are thinner.
func drawOutlines(p *page) {
	halo, minor, major := newMask(p.mapRect), newMask(p.mapRect), newMask(p.mapRect)
	top := p.top()
	numbered := map[int]bool{}
	for _, i := range top {
		numbered[i] = true
	}
	for i, o := range p.s.Outlines {
		for _, r := range o.Rings {
			ring := p.ring(r)
			if numbered[i] {
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

// top lists the outlines that get a number, best first.
func (p *page) top() []int {
	var idx []int
	for i, o := range p.s.Outlines {
		if o.Rank >= 1 {
			idx = append(idx, i)
		}
	}
	slices.SortStableFunc(idx, func(a, b int) int { return cmp.Compare(p.s.Outlines[a].Rank, p.s.Outlines[b].Rank) })
	return idx[:min(len(idx), labelled)]
}
