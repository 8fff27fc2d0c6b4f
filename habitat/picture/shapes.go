package picture

import (
	"math"
	"slices"
)

// inside is a point well inside a ring: the middle of the widest stretch of
// it on a few level lines, near the middle of its height when ties allow.
func inside(r []pt) pt {
	lo, hi := bounds(r)
	best, widest := pt{(lo.x + hi.x) / 2, (lo.y + hi.y) / 2}, 0.0
	const lines = 9
	for i := range lines {
		f := (float64(i) + 0.5) / lines
		y := lo.y + f*(hi.y-lo.y)
		var xs []float64
		for j, a := range r {
			b := r[(j+1)%len(r)]
			if (a.y > y) != (b.y > y) {
				xs = append(xs, a.x+(y-a.y)/(b.y-a.y)*(b.x-a.x))
			}
		}
		slices.Sort(xs)
		for j := 0; j+1 < len(xs); j += 2 {
			w := (xs[j+1] - xs[j]) * (1 - math.Abs(f-0.5)*0.8)
			if w > widest {
				best, widest = pt{(xs[j] + xs[j+1]) / 2, y}, w
			}
		}
	}
	return best
}

// touches says whether any edge of the ring meets the box.
func touches(b box, r []pt) bool {
	for i, a := range r {
		if meetsSegment(b, a, r[(i+1)%len(r)]) {
			return true
		}
	}
	return false
}

func meetsSegment(b box, a, c pt) bool {
	if max(a.x, c.x) < b.x0 || min(a.x, c.x) > b.x1 || max(a.y, c.y) < b.y0 || min(a.y, c.y) > b.y1 {
		return false
	}
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{{a.x - c.x, a.x - b.x0}, {c.x - a.x, b.x1 - a.x}, {a.y - c.y, a.y - b.y0}, {c.y - a.y, b.y1 - a.y}} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return false
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	return t0 <= t1
}

// crosses says whether segments ab and cd cross properly.
func crosses(a, b, c, d pt) bool {
	turn := func(p, q, r pt) float64 { return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x) }
	return turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0
}

// near is the distance of q from the segment ab.
func near(q, a, b pt) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if l2 := dx*dx + dy*dy; l2 > 0 {
		t = min(max(((q.x-a.x)*dx+(q.y-a.y)*dy)/l2, 0), 1)
	}
	return math.Hypot(q.x-a.x-t*dx, q.y-a.y-t*dy)
}
