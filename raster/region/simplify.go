package region

import "slices"

const (
	fine     = 8   // fine units in half a cell, for tolerances below half a cell
	lookLong = 128 // straight stretches of the traced border that one line may replace
)

// Simplify straightens the outlines: each arc becomes the polyline with the
// fewest segments, and among those the least area moved from one side to the
// other, that starts and ends where the arc does, bends only at corners of the
// traced border or middles of its straight stretches, and runs less than tol
// from the middle of every cell side it replaces, measured across that side, in
// the direction the border runs. tol is in cells; 0.5 when not positive, and
// never more. (A shortest path over possible segments, as in Selinger 2003,
// "Potrace: a polygon-based tracing algorithm".)
//
// Every line thus passes between the very cell centres that the border kept
// apart, and crosses no other connection of neighbouring centres. It follows
// that each cell centre stays inside its own patch, that lines meet at common
// ends only, that every ring stays simple and holds a cell centre, and that
// neighbours keep one border without gap or overlap. No line strays more than
// 0.71 cells from the traced border. Each call starts from the outlines as
// traced.
func (t *Topology) Simplify(tol float64) {
	s := simplifier{reach: fine}
	if tol > 0 && tol < 0.5 {
		s.reach = max(1, int64(tol*2*fine))
	}
	t.simple = make([][]point, len(t.arcs))
	for i := range t.arcs {
		t.simple[i] = s.arc(&t.arcs[i])
	}
}

// simplifier holds the buffers of the search.
type simplifier struct {
	reach int64
	pos   []offset // candidates, in fine units from the first: corner, middle, corner, …
	area  []int64  // twice the area swept by the border up to each candidate
	best  []step
	store []point
}

type offset struct{ x, y int64 }

func (a offset) minus(b offset) offset { return offset{a.x - b.x, a.y - b.y} }

// cross is positive when b points to the right of a, as seen on the map.
func (a offset) cross(b offset) int64 { return a.x*b.y - a.y*b.x }

// step is the best way to a candidate: segments, then area moved.
type step struct {
	segments int32
	from     int32
	moved    int64
}

func (a step) better(b step) bool {
	return a.segments < b.segments || a.segments == b.segments && a.moved < b.moved
}

// arc gives the new line of one arc; its own points when they cannot be fewer.
func (s *simplifier) arc(a *arc) []point {
	if len(a.points) < 3 {
		return a.points
	}
	line, cost := s.line(a.points)
	if a.ring {
		// The start of a closed line was arbitrary: try again from a bend halfway.
		if turned := turn(a.points, line[len(line)/2]); turned != nil {
			if again, better := s.line(turned); better.better(cost) {
				line = again
			}
		}
	}
	if len(line) >= len(a.points) {
		return a.points
	}
	return line
}

// turn makes a closed line start at q, a corner or the middle of a stretch.
func turn(p []point, q point) []point {
	out := make([]point, 0, len(p)+1)
	for k := range len(p) - 1 {
		if p[k] == q {
			return append(append(append(out, p[k:len(p)-1]...), p[:k]...), q)
		}
		if (point{(p[k].X + p[k+1].X) / 2, (p[k].Y + p[k+1].Y) / 2}) == q {
			return append(append(append(append(out, q), p[k+1:len(p)-1]...), p[:k+1]...), q)
		}
	}
	return nil
}

// line finds the best polyline along the border p, in half cells.
func (s *simplifier) line(p []point) ([]point, step) {
	n := len(p) - 1
	s.prepare(p)
	s.best = slices.Grow(s.best[:0], 2*n+1)[:2*n+1]
	for c := range s.best {
		s.best[c].segments = -1
	}
	s.best[0] = step{}
	for c := range 2 * n {
		if s.best[c].segments >= 0 {
			s.look(p, c)
		}
	}
	last := s.best[2*n]
	need := int(last.segments) + 1
	if cap(s.store)-len(s.store) < need {
		s.store = make([]point, 0, max(need, 1<<14))
	}
	first := len(s.store)
	s.store = s.store[:first+need]
	line := s.store[first : first+need : first+need]
	c := 2 * n
	for i := need - 1; i >= 0; i-- {
		line[i] = p[c/2]
		if c&1 == 1 {
			line[i] = point{(p[c/2].X + p[c/2+1].X) / 2, (p[c/2].Y + p[c/2+1].Y) / 2}
		}
		c = int(s.best[c].from)
	}
	return line, last
}

// prepare fills pos and area.
func (s *simplifier) prepare(p []point) {
	s.pos, s.area = s.pos[:0], s.area[:0]
	var at offset
	var sum int64
	put := func(q offset) {
		sum += at.cross(q)
		at = q
		s.pos, s.area = append(s.pos, q), append(s.area, sum)
	}
	put(at)
	for k := 1; k < len(p); k++ {
		q := offset{fine * (int64(p[k].X) - int64(p[0].X)), fine * (int64(p[k].Y) - int64(p[0].Y))}
		put(offset{(at.x + q.x) / 2, (at.y + q.y) / 2})
		put(q)
	}
}

// look tries every line that starts at candidate c. The directions it may take
// form a cone that each replaced cell side narrows: left of the line must lie
// the point tol to the left of the side's middle, right of it the one to the right.
func (s *simplifier) look(p []point, c int) {
	o := s.pos[c]
	var l, r offset // borders of the cone
	open := true    // no side has been passed yet
	var ways uint8
	for k := c / 2; k < len(p)-1 && k < c/2+lookLong; k++ {
		a := s.pos[2*k].minus(o)
		way := heading(p[k], p[k+1])
		if ways&(1<<((way+2)%4)) != 0 {
			return // the border turns back
		}
		ways |= 1 << way
		dx, dy := [4]int64{1, 0, -1, 0}[way], [4]int64{0, 1, 0, -1}[way]
		length := int(abs(int64(p[k+1].X)-int64(p[k].X)) + abs(int64(p[k+1].Y)-int64(p[k].Y)))
		// Middles of cell sides have an odd coordinate along the stretch.
		odd := int(p[k].X) & 1
		if dx == 0 {
			odd = int(p[k].Y) & 1
		}
		narrow := func(i int) {
			m := offset{a.x + fine*int64(i)*dx, a.y + fine*int64(i)*dy}
			left := offset{m.x + s.reach*dy, m.y - s.reach*dx}
			right := offset{m.x - s.reach*dy, m.y + s.reach*dx}
			if open || l.cross(left) > 0 {
				l = left
			}
			if open || r.cross(right) < 0 {
				r = right
			}
			open = false
		}
		// pass narrows the cone by the sides with middles lo … hi half cells along:
		// the first and the last do, the others lie between.
		pass := func(lo, hi int) {
			lo += (lo + odd + 1) & 1
			hi -= (hi + odd + 1) & 1
			if lo <= hi {
				narrow(lo)
				if lo < hi {
					narrow(hi)
				}
			}
		}
		reach := func(q int) {
			d := s.pos[q].minus(o)
			if !open && (l.cross(d) <= 0 || r.cross(d) >= 0) {
				return
			}
			w := step{
				segments: s.best[c].segments + 1,
				from:     int32(c),
				moved:    s.best[c].moved + abs(s.area[q]-s.area[c]-o.cross(s.pos[q])),
			}
			if s.best[q].segments < 0 || w.better(s.best[q]) {
				s.best[q] = w
			}
		}
		from := 0
		if k == c/2 {
			from = 1
			if c&1 == 1 {
				from = length/2 + 1
			}
		}
		if half := length / 2; length%2 == 0 && from <= half {
			pass(from, half-1)
			reach(2*k + 1)
			from = half
		}
		pass(from, length-1)
		reach(2*k + 2)
		if !open && l.cross(r) <= 0 {
			return
		}
	}
}

func abs(v int64) int64 { return max(v, -v) }
