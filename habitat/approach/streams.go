package approach

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// StreamIndex answers Ground.Crossings for mapped stream lines. It may be used
// by several goroutines at once.
type StreamIndex struct {
	runs rtree.RTreeG[[]orb.Point]
}

// runLength is how many sides of a line share one box: a box a side costs
// memory, a box for a whole river tells nothing.
const runLength = 8

// samePlaceM: places of a leg nearer together than this are one crossing, so
// that where lines join a stream counts once.
const samePlaceM = 1e-3

// NewStreamIndex makes an index of lines (metres). What runs under ground
// should be left out by the caller. Nil lines, points and polygons are ignored.
func NewStreamIndex(lines []orb.Geometry) *StreamIndex {
	x := &StreamIndex{}
	for _, g := range lines {
		switch g := g.(type) {
		case orb.LineString:
			x.add(g)
		case orb.MultiLineString:
			for _, l := range g {
				x.add(l)
			}
		}
	}
	return x
}

func (x *StreamIndex) add(line orb.LineString) {
	for first := 0; first+1 < len(line); first += runLength {
		run := line[first:min(first+runLength+1, len(line))]
		b := run.Bound()
		if finite(b.Min) && finite(b.Max) {
			x.runs.Insert(b.Min, b.Max, run)
		}
	}
}

// Crossings counts the places where the leg a–b meets streams: each point it
// crosses or touches, at its ends too, and each stretch it shares with a stream,
// once. A leg of no length counts one when the point is on a stream.
func (x *StreamIndex) Crossings(a, b orb.Point) int {
	length := distance(a, b)
	box := orb.MultiPoint{a, b}.Bound().Pad(touchM)
	var room [16][2]float64
	met := room[:0] // stretches of the leg in metres from a
	x.runs.Search(box.Min, box.Max, func(lo, hi [2]float64, run []orb.Point) bool {
		if apart(a, b, lo, hi) {
			return true
		}
		for i := 1; i < len(run); i++ {
			p, q := run[i-1], run[i]
			switch {
			case p == q:
			case length <= touchM:
				if _, d2 := onto(a, p, q); d2 <= touchM*touchM {
					met = append(met, [2]float64{})
				}
			default:
				hits, n := meet(a, b, p, q)
				if n == 0 {
					continue
				}
				s := [2]float64{hits[0].ta, hits[0].ta}
				for _, h := range hits[1:n] {
					s[0], s[1] = min(s[0], h.ta), max(s[1], h.ta)
				}
				met = append(met, [2]float64{s[0] * length, s[1] * length})
			}
		}
		return true
	})
	if len(met) < 2 {
		return len(met)
	}
	slices.SortFunc(met, func(s, t [2]float64) int { return cmp.Compare(s[0], t[0]) })
	count, end := 1, met[0][1]
	for _, s := range met[1:] {
		if s[0] > end+samePlaceM {
			count++
		}
		end = max(end, s[1])
	}
	return count
}

// apart says whether the line through a and b misses a box that meets the box
// of a–b: all corners lie on one side of it.
func apart(a, b orb.Point, lo, hi [2]float64) bool {
	dx, dy := b[0]-a[0], b[1]-a[1]
	cx, cy := (lo[0]+hi[0])/2-a[0], (lo[1]+hi[1])/2-a[1]
	hx, hy := (hi[0]-lo[0])/2+2*touchM, (hi[1]-lo[1])/2+2*touchM
	return math.Abs(dx*cy-dy*cx) > math.Abs(dx)*hy+math.Abs(dy)*hx
}
