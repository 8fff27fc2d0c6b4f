package picture

import (
	"math"
	"slices"
)

// follow finds the straightest free stretch of the course for a name of width
// w, near its middle rather than its ends, and gives the letters' places; nil
// when there is none.
func (p *page) follow(st style, c course, w float64, ground *busy) []spot {
	step := c.len / float64(len(c.path)-1)
	n := int(math.Ceil(1.25*w/step)) + 2 // a line beside a bend is shorter than the bend
	if n >= len(c.path) {
		n = len(c.path) - 1
	}
	// Above the line, else under it, else farther off, past patches on the banks.
	off, high := p.streamWidth(c.order)/2+0.34*p.u, st.face.capHeight*st.size
	var lifts []float64
	for k := range 4 {
		d := off + 0.9*p.u*float64(k)
		lifts = append(lifts, d, -d-high)
	}
	var best []spot
	least := math.Inf(1)
	for first := 0; first+n < len(c.path); first += 2 {
		piece := slices.Clone(c.path[first : first+n+1])
		if piece[n].x < piece[0].x {
			slices.Reverse(piece) // never upside down
		}
		middle := math.Abs(float64(first)+float64(n)/2-float64(len(c.path))/2) / float64(len(c.path))
		for k, lift := range lifts {
			if middle+0.15*float64(k) >= least {
				break
			}
			spots, bend := st.string(c.name, beside(piece, lift), w)
			cost := 3*bend + middle + 0.15*float64(k)
			if spots == nil || bend > bendMost || cost >= least {
				continue
			}
			if !slices.ContainsFunc(spots, func(s spot) bool { return !ground.free(st.room(s)) }) {
				best, least = spots, cost
			}
		}
	}
	return best
}

// beside is the line lift pixels to the left of a line, above one that runs
// to the right.
func beside(line []pt, lift float64) []pt {
	out := make([]pt, len(line))
	for i, q := range line {
		a, b := line[max(i-1, 0)], line[min(i+1, len(line)-1)]
		l := dist(a, b)
		if l == 0 {
			l = 1
		}
		out[i] = pt{q.x + (b.y-a.y)/l*lift, q.y - (b.x-a.x)/l*lift}
	}
	return out
}

// string puts letters on the middle of a line, w pixels long altogether, and
// tells the sharpest turn between two of them in radians. It gives nil when
// the line is too short or leads straight up or down.
func (st style) string(name string, line []pt, w float64) ([]spot, float64) {
	total := 0.0
	for i := 1; i < len(line); i++ {
		total += dist(line[i-1], line[i])
	}
	d := (total - w) / 2
	if d < 0 {
		return nil, 0
	}
	at := func(d float64) pt {
		for i := 1; i < len(line); i++ {
			l := dist(line[i-1], line[i])
			if d <= l && l > 0 {
				return along(line[i-1], line[i], d/l)
			}
			d -= l
		}
		return line[len(line)-1]
	}
	var spots []spot
	bend, before := 0.0, math.NaN()
	for _, r := range name {
		adv := (st.face.glyph(r).advance + st.track) * st.size
		mid := at(d + adv/2)
		// The direction over a letter and its neighbours, not of one small step.
		a, b := at(max(0, d-0.3*st.size)), at(d+adv+0.3*st.size)
		l := dist(a, b)
		if l == 0 {
			return nil, 0
		}
		dir := pt{(b.x - a.x) / l, (b.y - a.y) / l}
		angle := math.Atan2(dir.y, dir.x)
		if math.Abs(angle) > 1.5 {
			return nil, 0
		}
		if !math.IsNaN(before) {
			bend = max(bend, math.Abs(angle-before))
		}
		before = angle
		spots = append(spots, spot{at: pt{mid.x - dir.x*adv/2, mid.y - dir.y*adv/2}, cos: dir.x, sin: dir.y})
		d += adv
	}
	return spots, bend
}

// room is the ground one turned letter takes.
func (st style) room(s spot) box {
	h := st.face.capHeight * st.size / 2
	c := pt{s.at.x + h*s.sin + 0.6*h*s.cos, s.at.y - h*s.cos + 0.6*h*s.sin}
	return around(c, 1.4*h, 1.4*h)
}
