package picture

import (
	"cmp"
	"slices"
	"unicode/utf8"
)

// Names on the map: how many at most, and how much a letter may turn against
// the one before it (radians); sharper bends cannot be read.
const (
	namesMost = 12
	bendMost  = 0.42
)

// course is one stream line long enough for its name.
type course struct {
	name  string
	order int
	path  []pt // smoothed
	len   float64
}

// drawNames sets the names of the larger streams along their course, in
// italics as is the custom for water, each name once (common practice, no
// source). Names keep off the badges and the edges of patches; one without a
// free place is left out.
func drawNames(p *page, badges []box) {
	st := p.style(p.faces.italic, 0.92)
	st.color, st.halo, st.track = waterInk, 1.7*p.lw(), 0.03
	ground := newBusy(p.mapRect)
	for _, b := range badges {
		ground.take(b)
	}
	for _, o := range p.patches {
		for _, r := range o.Rings {
			ring := p.ring(r)
			for i := 1; i < len(ring); i++ {
				ground.takeLine(ring[i-1], ring[i])
			}
		}
	}
	done := map[string]bool{}
	for _, c := range p.courses() {
		if done[c.name] || len(done) == namesMost {
			continue
		}
		w := st.width(c.name)
		if w > 0.8*c.len {
			continue
		}
		if spots := p.follow(st, c, w, ground); spots != nil {
			p.glyphs(st, []rune(c.name), spots, p.mapRect)
			for _, s := range spots {
				ground.take(st.room(s))
			}
			done[c.name] = true
		}
	}
}

// courses lists the named lines, the largest and longest first. Pieces of one
// stream that meet end to end are joined, so that a name finds room on a
// course mapped in short reaches.
func (p *page) courses() []course {
	var out []course
	step := 0.8 * p.u
	for _, l := range p.joined() {
		path := smoothPath(l.path, step)
		if len(path) < 3 {
			continue
		}
		out = append(out, course{l.name, l.order, path, step * float64(len(path)-1)})
	}
	slices.SortStableFunc(out, func(a, b course) int {
		return cmp.Or(cmp.Compare(b.order, a.order), cmp.Compare(b.len, a.len), cmp.Compare(a.name, b.name))
	})
	return out
}

// joined strings together lines of one name that share an end.
func (p *page) joined() []course {
	var out []course
	open := map[string][]int{} // by name, places in out
	for _, l := range p.streams {
		if l.Name == "" || !utf8.ValidString(l.Name) || utf8.RuneCountInString(l.Name) > 60 {
			continue
		}
		var path []pt
		for _, c := range l.Points {
			if q := p.toPage(c); q.finite() && (len(path) == 0 || dist(path[len(path)-1], q) > 1e-9) {
				path = append(path, q)
			}
		}
		if len(path) < 2 {
			continue
		}
		out = append(out, course{name: l.Name, order: l.Order, path: path})
		open[l.Name] = append(open[l.Name], len(out)-1)
	}
	meet := func(a, b pt) bool { return dist(a, b) < 0.75 }
	for i := range out {
		c := &out[i]
		for again := c.path != nil; again; {
			again = false
			for _, j := range open[c.name] {
				o := out[j].path
				if j == i || o == nil {
					continue
				}
				switch end, start := c.path[len(c.path)-1], c.path[0]; {
				case meet(end, o[0]):
					c.path = append(c.path, o[1:]...)
				case meet(start, o[len(o)-1]):
					c.path = append(slices.Clone(o), c.path[1:]...)
				case meet(end, o[len(o)-1]):
					slices.Reverse(o)
					c.path = append(c.path, o[1:]...)
				case meet(start, o[0]):
					slices.Reverse(o)
					c.path = append(slices.Clone(o), c.path[1:]...)
				default:
					continue
				}
				c.order = max(c.order, out[j].order)
				out[j].path = nil
				again = true
			}
		}
	}
	return slices.DeleteFunc(out, func(c course) bool { return c.path == nil })
}

// smoothPath lays points step pixels apart along the path, each the mean of
// the path around it, so that letters do not follow every wriggle.
func smoothPath(path []pt, step float64) []pt {
	const pointsMost = 20_000
	var even []pt
	left := 0.0
	for i := 1; i < len(path); i++ {
		l := dist(path[i-1], path[i])
		for ; left <= l; left += step {
			if len(even) == pointsMost {
				return nil
			}
			even = append(even, along(path[i-1], path[i], left/l))
		}
		left -= l
	}
	out := make([]pt, 0, len(even))
	const reach = 3
	for i := range even {
		r := min(reach, i, len(even)-1-i)
		var s pt
		for _, q := range even[i-r : i+r+1] {
			s.x += q.x
			s.y += q.y
		}
		n := float64(2*r + 1)
		out = append(out, pt{s.x / n, s.y / n})
	}
	return out
}
