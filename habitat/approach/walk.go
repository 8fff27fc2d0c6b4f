package approach

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Walk is the way from a start to a patch. All lengths are metres on the map.
type Walk struct {
	OK  bool
	Why string // when not OK: one line without full stop, nothing else is set

	Entry      orb.Point // where it meets the patch's outline, or a path that comes within half a gap of its points
	Start      string    // name of the start, may be ""
	StartKind  string
	StartPoint orb.Point

	PathM     float64 // along paths and roads
	StraightM float64 // over open ground
	DistanceM float64 // both
	// ClimbM and DescentM are the rises and falls of the ground (m) at points 30 m
	// apart or less; NaN when fewer than two heights are known.
	ClimbM, DescentM float64
	Crossings        int            // streams and fords with no mapped bridge
	EffortM          float64        // what was made least: metres of path it is worth
	Line             orb.LineString // from start to entry
}

// To works out the walk of least effort to a patch. Of equal ones the walk from
// the lower start counts, then the one by the lower node and border point.
func (n *Network) To(t Target) Walk {
	border := t.outline()
	switch {
	case len(border.points) == 0:
		return Walk{Why: "the patch has no outline"}
	case !slices.ContainsFunc(n.starts, func(s Start) bool { return finite(s.Point) }):
		return Walk{Why: "no parking place known"}
	}
	best, water, closed := n.choose(border)
	if !best.ok {
		return Walk{Why: n.why(water, closed)}
	}
	s := n.starts[n.origin[best.node]]
	w := Walk{
		OK: true, Entry: best.entry, Start: s.Name, StartKind: s.Kind, StartPoint: s.Point,
		Crossings: best.crossings, EffortM: best.effort,
	}
	line := orb.LineString{w.Entry, best.leave, n.nodes[best.node]}
	w.StraightM = distance(w.Entry, best.leave)
	w.PathM = distance(best.leave, n.nodes[best.node])
	for v := best.node; n.before[v] >= 0; {
		p := n.pieces[n.before[v]]
		if p.flags&offPath != 0 {
			w.StraightM += p.length
		} else {
			w.PathM += p.length
		}
		w.Crossings += int(n.crossed(p, v))
		v = p.other(v)
		line = append(line, n.nodes[v])
	}
	slices.Reverse(line)
	w.Line = straighten(slices.Compact(line))
	w.DistanceM = w.PathM + w.StraightM
	w.ClimbM, w.DescentM = climb(w.Line, n.ground.Height)
	return w
}

// straighten drops vertices that lie on the line between their neighbours,
// such as those where a long side was cut: the line stays within touchM of itself.
func straighten(line orb.LineString) orb.LineString {
	if len(line) < 3 {
		return line
	}
	out := line[:1:1]
	for i := 1; i < len(line)-1; i++ {
		a, p, b := out[len(out)-1], line[i], line[i+1]
		t, d2 := onto(p, a, b)
		if t <= 0 || t >= 1 || d2 > touchM*touchM {
			out = append(out, p)
		}
	}
	return append(out, line[len(line)-1])
}

const (
	stepM = 30 // heights are read so far apart, or a little nearer
	bandM = 1  // rises and falls smaller than this are noise of the elevation
)

// climb adds up rises and falls along a line. A height counts when it is bandM
// or more from the last one that counted, so that noise does not add up; the
// step and the band are common practice, no source. Unknown heights are passed
// over.
func climb(line orb.LineString, height func(orb.Point) float64) (up, down float64) {
	total := 0.0
	for i := 1; i < len(line); i++ {
		total += distance(line[i-1], line[i])
	}
	steps := max(1, math.Ceil(total/stepM))
	known, last := 0, 0.0
	read := func(p orb.Point) {
		h := height(p)
		if math.IsNaN(h) {
			return
		}
		switch known++; {
		case known == 1:
			last = h
		case h >= last+bandM:
			up, last = up+h-last, h
		case h <= last-bandM:
			down, last = down+last-h, h
		}
	}
	read(line[0])
	next, gone := 1.0, 0.0
	for i := 1; i < len(line); i++ {
		d := distance(line[i-1], line[i])
		for ; next < steps && next*total/steps <= gone+d; next++ {
			read(between(line[i-1], line[i], (next*total/steps-gone)/d))
		}
		gone += d
	}
	read(line[len(line)-1])
	if known < 2 {
		return math.NaN(), math.NaN()
	}
	return up, down
}

// Cautions are the words to show beside a walk, the gravest first. Facts on
// moving water: National Weather Service, from memory; the rest is common
// practice, no source.
func (w Walk) Cautions() []string {
	var out []string
	if w.OK && w.Crossings > 0 {
		out = append(out, "This walk crosses water with no mapped bridge. Never wade moving water (15 cm can knock you over) and never count on ice; when in doubt turn back.")
	}
	return append(out,
		"Drawn from maps alone: streams too small or too new to be mapped, floods, fences and locked gates are not known to it.",
		"A path on the map is no right to walk or park there. Signs, owners and local law come first.")
}
