package sheet

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/planar"
)

// way draws the way in with start and entry; what lies outside the map is
// pointed at from its edge, with the distance.
func (s *sketch) way() error {
	w := s.c.Walk
	if w == nil || !w.OK {
		return nil
	}
	starts, err := s.to.Point(orb.Point{w.StartLon, w.StartLat})
	if err != nil {
		return err
	}
	var line orb.LineString
	if l := s.run.Ways[s.c.Rank]; len(l) > 1 {
		g, err := s.to.Geometry(l)
		if err != nil {
			return err
		}
		line = g.(orb.LineString)
		s.WriteString(s.v.path([]orb.LineString{line}, `fill="none" stroke="#fff" stroke-width="12" stroke-linejoin="round"`))
		s.WriteString(s.v.path([]orb.LineString{line}, `class="way" fill="none" stroke="#000" stroke-width="6" stroke-dasharray="20 11"`))
		s.key = append(s.key, keyEntry{`<path d="M0 0H52" stroke="#000" stroke-width="6" stroke-dasharray="20 11"/>`, 52, "way in"})
	}
	if s.v.bound.Contains(starts) {
		x, y := s.v.at(starts)
		s.WriteString(startMark(x, y, "start"))
		s.labels.take(x, y, 44, 44)
		s.key = append(s.key, keyEntry{startMark(20, 0, ""), 40, "start"})
	} else if from, far, ok := s.leaves(line); ok {
		s.points(from, starts, fmt.Sprintf("to start, %.1f km", far/1000))
	} else {
		s.points(s.v.edge(starts), starts, fmt.Sprintf("start %.1f km off", planar.Distance(starts, s.v.bound.Center())/1000))
	}
	entry := orb.Point{w.EntryEast, w.EntryNorth}
	if !s.v.bound.Contains(entry) {
		s.points(s.v.edge(entry), entry, fmt.Sprintf("entry %.1f km off", planar.Distance(entry, s.v.bound.Center())/1000))
		return nil
	}
	x, y := s.v.at(entry)
	s.WriteString(entryMark(x, y, "entry"))
	s.labels.take(x, y, 40, 40)
	s.key = append(s.key, keyEntry{entryMark(16, 0, ""), 32, "entry"})
	return nil
}

func startMark(x, y float64, class string) string {
	return fmt.Sprintf(`<g class="%s" transform="translate(%s %s)"><circle r="20" fill="#000" stroke="#fff" stroke-width="3"/><text y="10" text-anchor="middle" font-size="28" font-weight="700" fill="#fff">S</text></g>`, class, num(x), num(y))
}

func entryMark(x, y float64, class string) string {
	return fmt.Sprintf(`<rect class="%s" x="%s" y="%s" width="28" height="28" fill="#fff" stroke="#000" stroke-width="7"/>`, class, num(x-14), num(y-14))
}

// leaves is where the way from a start outside first comes onto the map, and
// how many metres it has run till there.
func (s *sketch) leaves(line orb.LineString) (p orb.Point, far float64, ok bool) {
	if len(line) == 0 {
		return p, 0, false
	}
	pieces := clip.LineString(s.v.bound, line)
	if len(pieces) == 0 {
		return p, 0, false
	}
	p = pieces[0][0]
	for i := 1; i < len(line); i++ {
		if a, b := line[i-1], line[i]; planar.DistanceFromSegment(a, b, p) < 0.01 {
			return p, far + planar.Distance(a, p), true
		}
		far += planar.Distance(line[i-1], line[i])
	}
	return p, far, true
}

// edge is where the line from the middle of the map to a point outside leaves
// it.
func (v view) edge(p orb.Point) orb.Point {
	mid := v.bound.Center()
	dx, dy := p[0]-mid[0], p[1]-mid[1]
	k := min((v.bound.Max[0]-mid[0])/math.Abs(dx), (v.bound.Max[1]-mid[1])/math.Abs(dy))
	return orb.Point{mid[0] + k*dx, mid[1] + k*dy}
}

// points sets an arrow at the edge, towards something outside, with words.
func (s *sketch) points(at, to orb.Point, words string) {
	x, y := s.v.at(at)
	x, y = min(max(x, 40), mapWide-40), min(max(y, 40), s.v.high-40)
	angle := math.Atan2(at[1]-to[1], to[0]-at[0]) * 180 / math.Pi
	fmt.Fprintf(s, `<g class="off" transform="translate(%s %s) rotate(%s)"><path d="M-32 -10H6V-24L36 0L6 24V10H-32Z" fill="#fff" stroke="#000" stroke-width="5" stroke-linejoin="round"/></g>`, num(x), num(y), num(angle))
	s.labels.take(x, y, 72, 60)
	side := 190.0
	s.labels.write(words, 30, `font-weight="700"`, []orb.Point{{x - side, y}, {x + side, y}, {x, y + 54}, {x, y - 54}}, true)
}

// along gives points of a line at most so many metres apart.
func along(line orb.LineString, step float64) (out []orb.Point) {
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := min(max(1, int(math.Ceil(planar.Distance(a, b)/step))), 1000)
		for k := range n {
			t := float64(k) / float64(n)
			out = append(out, orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
		}
	}
	return out
}
