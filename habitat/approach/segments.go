package approach

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// segment is one side of a way.
type segment struct {
	a, b orb.Point
	way  int32
}

// split is a new vertex on a segment, a part t of its length along.
type split struct {
	seg int32
	t   float64
	at  orb.Point
}

// link joins two places that are vertices of the network: a loose end to a way
// near by, or a start to one.
type link struct {
	a, b  orb.Point
	start int32 // the start that a is, -1 when it is a vertex
	off   bool  // weighed as a straight leg over open ground
	// bridged: no stream counts on it. That is so of a start's link no longer than
	// SnapM to a road or a bridge, since a road has bridges and a bridge spans what
	// lies beside its end; and of a link along a bridge that the start lies on.
	// Common practice, no source.
	bridged bool
}

// lines are the ways that are walked, as segments in the order given.
type lines struct {
	ways  []Way // cleaned
	first []int32
	segs  []segment
	tree  rtree.RTreeG[int32]
}

// clean drops closed ways and those that are no line, repeated vertices with
// them, and cuts the others into segments.
func clean(ways []Way) (*lines, []string, error) {
	l := &lines{}
	var bad []string
	for i, w := range ways {
		if w.Closed {
			continue
		}
		at := slices.IndexFunc(w.Line, func(p orb.Point) bool { return !finite(p) })
		if at >= 0 {
			bad = append(bad, fmt.Sprintf("way %d (%q): vertex %d is at %g, %g, which is no place", i+1, w.Name, at+1, w.Line[at][0], w.Line[at][1]))
			continue
		}
		w.Line = slices.Compact(slices.Clone(w.Line))
		if len(w.Line) < 2 {
			continue
		}
		l.first = append(l.first, int32(len(l.segs)))
		for j := 1; j < len(w.Line); j++ {
			l.segs = append(l.segs, segment{w.Line[j-1], w.Line[j], int32(len(l.ways))})
		}
		l.ways = append(l.ways, w)
		if len(l.segs) > math.MaxInt32/8 {
			return nil, nil, fmt.Errorf("paths and roads have more than %d sides, which is too many: give those within reach of the area only", math.MaxInt32/8)
		}
	}
	l.first = append(l.first, int32(len(l.segs)))
	for i, s := range l.segs {
		b := orb.MultiPoint{s.a, s.b}.Bound()
		l.tree.Insert(b.Min, b.Max, int32(i))
	}
	var warnings []string
	if len(bad) > 0 {
		warnings = append(warnings, fmt.Sprintf("%d of %d paths and roads left out, the first: %s", len(bad), len(ways), bad[0]))
	}
	return l, warnings, nil
}

// ends are the first and last vertex of way w.
func (l *lines) ends(w int32) [2]orb.Point {
	line := l.ways[w].Line
	return [2]orb.Point{line[0], line[len(line)-1]}
}

// join gives the place of segment i nearest to p where something may be joined
// to it: anywhere, but for a bridge, which one comes onto at its ends only.
func (l *lines) join(p orb.Point, i int32) (t float64, at orb.Point, dist float64) {
	s := l.segs[i]
	if l.ways[s.way].Bridge {
		dist = math.Inf(1)
		if i == l.first[s.way] {
			t, at, dist = 0, s.a, distance(p, s.a)
		}
		if d := distance(p, s.b); i+1 == l.first[s.way+1] && d < dist {
			t, at, dist = 1, s.b, d
		}
		return t, at, dist
	}
	t, d2 := onto(p, s.a, s.b)
	at = between(s.a, s.b, t)
	switch {
	case t == 0 || distance(at, s.a) <= touchM:
		t, at, d2 = 0, s.a, distance(p, s.a)*distance(p, s.a)
	case t == 1 || distance(at, s.b) <= touchM:
		t, at, d2 = 1, s.b, distance(p, s.b)*distance(p, s.b)
	}
	return t, at, math.Sqrt(d2)
}

// offer is a place where something may be joined to the network.
type offer struct {
	split
	way  int32
	dist float64
}

// near gives the nearest place of each way within maxM of p, the nearest first
// (then by segment), but for the ways in skip.
func (l *lines) near(p orb.Point, maxM float64, skip ...int32) []offer {
	var all []offer
	l.tree.Search([2]float64{p[0] - maxM, p[1] - maxM}, [2]float64{p[0] + maxM, p[1] + maxM},
		func(_, _ [2]float64, i int32) bool {
			w := l.segs[i].way
			if t, at, d := l.join(p, i); d <= maxM && !slices.Contains(skip, w) {
				all = append(all, offer{split{i, t, at}, w, d})
			}
			return true
		})
	slices.SortFunc(all, func(a, b offer) int {
		return cmp.Or(cmp.Compare(a.dist, b.dist), cmp.Compare(a.seg, b.seg))
	})
	kept := all[:0]
	for _, o := range all {
		if !slices.ContainsFunc(kept, func(k offer) bool { return k.way == o.way }) {
			kept = append(kept, o)
		}
	}
	return kept
}

// inside says whether the split is between the ends of its segment.
func (s split) inside() bool { return s.t > 0 && s.t < 1 }

func compareSplits(a, b split) int {
	return cmp.Or(cmp.Compare(a.seg, b.seg), cmp.Compare(a.t, b.t), cmp.Compare(a.at[0], b.at[0]), cmp.Compare(a.at[1], b.at[1]))
}
