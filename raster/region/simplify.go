package region

// Simplify straightens the outlines, in place: Douglas–Peucker (Douglas &
// Peucker 1973) on every arc, its ends fixed, with a tolerance in cells. The
// tolerance is 0.5 when tol is not positive, and never more: every corner left
// out lies less than half a cell from the new line. A cell centre is at least
// half a cell from any border, so no line sweeps over one, and every cell
// centre stays inside its own patch. A border changes once for both of its
// sides, so neighbours neither part nor overlap.
//
// Arcs whose segments would cross or touch anywhere but at common ends, or
// double back, are done again with a half, then a quarter of the tolerance,
// then kept as traced, until no such place is left. Starting anew, each call
// works on the outlines as traced.
func (t *Topology) Simplify(tol float64) {
	if !(tol > 0) || tol > 0.5 {
		tol = 0.5
	}
	level := make([]uint8, len(t.arcs))
	t.simple = make([][]Point, len(t.arcs))
	var s simplifier
	for i := range t.arcs {
		t.simple[i] = s.arc(&t.arcs[i], tol)
	}
	for {
		bad := t.crossings()
		if len(bad) == 0 {
			return
		}
		for _, i := range bad {
			if level[i]++; level[i] > 2 {
				t.simple[i] = t.arcs[i].points
			} else {
				t.simple[i] = s.arc(&t.arcs[i], tol/float64(int(1)<<level[i]))
			}
		}
	}
}

// simplifier holds buffers and the store of new lines.
type simplifier struct {
	keep  []bool
	stack [][2]int
	store []Point
}

// arc gives the line for one arc; the arc's own points when none can go.
func (s *simplifier) arc(a *arc, tol float64) []Point {
	p := a.points
	if len(p) < 3 {
		return p
	}
	if cap(s.keep) < len(p) {
		s.keep = make([]bool, 2*len(p))
	}
	keep := s.keep[:len(p)]
	clear(keep)
	last := len(p) - 1
	keep[0], keep[last] = true, true
	s.stack = append(s.stack[:0], [2]int{0, last})
	if a.closed() {
		// A closed line needs two more fixed points to have an inside: the one
		// farthest from its start, and the one farthest from the line between.
		far := farthest(p, func(q Point) int64 { return dist2(p[0], q) })
		side := farthest(p, func(q Point) int64 {
			c := cross(p[0], p[far], q)
			return max(c, -c)
		})
		keep[far], keep[side] = true, true
		lo, hi := min(far, side), max(far, side)
		s.stack = append(s.stack[:0], [2]int{0, lo}, [2]int{lo, hi}, [2]int{hi, last})
	}
	limit := tol * tol
	for len(s.stack) > 0 {
		i, j := s.stack[len(s.stack)-1][0], s.stack[len(s.stack)-1][1]
		s.stack = s.stack[:len(s.stack)-1]
		at, worst := -1, limit
		for k := i + 1; k < j; k++ {
			if d := segmentDist2(p[i], p[j], p[k]); d >= worst && (at < 0 || d > worst) {
				at, worst = k, d
			}
		}
		if at >= 0 {
			keep[at] = true
			s.stack = append(s.stack, [2]int{i, at}, [2]int{at, j})
		}
	}
	n := 0
	for _, k := range keep {
		if k {
			n++
		}
	}
	if n == len(p) {
		return p
	}
	if cap(s.store)-len(s.store) < n {
		s.store = make([]Point, 0, max(n, 1<<14))
	}
	first := len(s.store)
	for k, q := range p {
		if keep[k] {
			s.store = append(s.store, q)
		}
	}
	return s.store[first:len(s.store):len(s.store)]
}

// farthest is the index of the first point with the largest measure.
func farthest(p []Point, measure func(Point) int64) int {
	at, worst := 0, int64(-1)
	for k, q := range p {
		if d := measure(q); d > worst {
			at, worst = k, d
		}
	}
	return at
}

func dist2(a, b Point) int64 {
	dx, dy := int64(b.X)-int64(a.X), int64(b.Y)-int64(a.Y)
	return dx*dx + dy*dy
}

// cross is twice the signed area of the triangle a, b, c.
func cross(a, b, c Point) int64 {
	return (int64(b.X)-int64(a.X))*(int64(c.Y)-int64(a.Y)) - (int64(b.Y)-int64(a.Y))*(int64(c.X)-int64(a.X))
}

// segmentDist2 is the squared distance from q to the segment a–b.
func segmentDist2(a, b, q Point) float64 {
	dx, dy := int64(b.X)-int64(a.X), int64(b.Y)-int64(a.Y)
	ex, ey := int64(q.X)-int64(a.X), int64(q.Y)-int64(a.Y)
	along, length := dx*ex+dy*ey, dx*dx+dy*dy
	switch {
	case along <= 0:
		return float64(ex*ex + ey*ey)
	case along >= length:
		return float64(dist2(b, q))
	}
	c := float64(dx*ey - dy*ex)
	return c * c / float64(length)
}
