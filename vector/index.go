package vector

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// Index finds geometries by place. It keeps the geometries given, in a
// projected CRS, and may be used by several goroutines at once.
type Index struct {
	geometries []orb.Geometry
	boxes      rtree.RTreeG[int] // of whole geometries
	runs       rtree.RTreeG[run] // of short pieces of their lines
}

// run is a short piece of a line of a geometry, or a single point.
type run struct {
	owner int
	line  []orb.Point
}

// runLength is how many sides of a line share one box of the index: a long
// river has a box too large to tell anything, a box a side costs memory.
const runLength = 8

// NewIndex makes an index of geometries; nil and empty ones keep their number
// but are never found.
func NewIndex(geometries []orb.Geometry) *Index {
	x := &Index{geometries: geometries}
	for i, g := range geometries {
		if isEmpty(g) {
			continue
		}
		b := g.Bound()
		x.boxes.Insert(b.Min, b.Max, i)
		x.add(g, i)
	}
	return x
}

func (x *Index) add(g orb.Geometry, owner int) {
	switch g := g.(type) {
	case orb.Point:
		x.addRuns([]orb.Point{g}, owner)
	case orb.MultiPoint:
		for i := range g {
			x.addRuns(g[i:i+1], owner)
		}
	case orb.LineString:
		x.addRuns(g, owner)
	case orb.Ring:
		x.addRuns(g, owner)
	case orb.MultiLineString:
		for _, l := range g {
			x.addRuns(l, owner)
		}
	case orb.Polygon:
		for _, r := range g {
			x.addRuns(r, owner)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			x.add(p, owner)
		}
	case orb.Collection:
		for _, m := range g {
			x.add(m, owner)
		}
	}
}

func (x *Index) addRuns(line []orb.Point, owner int) {
	for first := 0; first < len(line); first += runLength {
		end := min(first+runLength+1, len(line))
		if end-first < 2 && first > 0 {
			return
		}
		piece := line[first:end]
		b := orb.LineString(piece).Bound()
		x.runs.Insert(b.Min, b.Max, run{owner, piece})
	}
}

// Search gives the numbers of the geometries whose box meets the bounds, in order.
func (x *Index) Search(b orb.Bound) []int {
	var out []int
	x.boxes.Search(b.Min, b.Max, func(_, _ [2]float64, i int) bool {
		out = append(out, i)
		return true
	})
	slices.Sort(out)
	return out
}

// Containing gives the numbers of the polygons that hold the point (a point on
// an outline counts, also on that of a hole), in order; it is settled exactly.
func (x *Index) Containing(p orb.Point) []int {
	var out []int
	for _, i := range x.Search(p.Bound()) {
		if contains(x.geometries[i], p) {
			out = append(out, i)
		}
	}
	return out
}

func contains(g orb.Geometry, p orb.Point) bool {
	switch g := g.(type) {
	case orb.Polygon:
		return polygonHolds(g, p)
	case orb.MultiPolygon:
		return slices.ContainsFunc(g, func(m orb.Polygon) bool { return polygonHolds(m, p) })
	case orb.Collection:
		return slices.ContainsFunc(g, func(m orb.Geometry) bool { return contains(m, p) })
	}
	return false
}

// Nearest gives the geometry nearest to p and how far it is (units of the CRS:
// metres), 0 inside a polygon. Of equally near ones the first is taken. ok is
// false when the index is empty.
func (x *Index) Nearest(p orb.Point) (i int, distM float64, ok bool) {
	return x.NearestWithin(p, math.Inf(1))
}

// NearestWithin is Nearest among what lies no farther than maxM; ok is false
// when nothing does.
func (x *Index) NearestWithin(p orb.Point, maxM float64) (i int, distM float64, ok bool) {
	if inside := x.Containing(p); len(inside) > 0 {
		return inside[0], 0, true
	}
	best, limit := -1, maxM*maxM
	x.runs.Nearby(
		func(lo, hi [2]float64, r run, item bool) float64 {
			if !item {
				return boxDistance2(p, lo, hi)
			}
			return lineDistance2(p, r.line)
		},
		func(_, _ [2]float64, r run, d2 float64) bool {
			if d2 > limit {
				return false
			}
			if best < 0 || r.owner < best {
				best = r.owner
			}
			limit = d2
			return true
		})
	if best < 0 {
		return 0, 0, false
	}
	return best, math.Sqrt(limit), true
}

func boxDistance2(p orb.Point, lo, hi [2]float64) float64 {
	dx := max(lo[0]-p[0], 0, p[0]-hi[0])
	dy := max(lo[1]-p[1], 0, p[1]-hi[1])
	return dx*dx + dy*dy
}

// lineDistance2 is the squared distance from p to a line of one or more points.
func lineDistance2(p orb.Point, line []orb.Point) float64 {
	d := math.Inf(1)
	if len(line) == 1 {
		return boxDistance2(p, line[0], line[0])
	}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		vx, vy := b[0]-a[0], b[1]-a[1]
		wx, wy := p[0]-a[0], p[1]-a[1]
		if l2 := vx*vx + vy*vy; l2 > 0 {
			t := min(max((wx*vx+wy*vy)/l2, 0), 1)
			wx, wy = wx-t*vx, wy-t*vy
		}
		d = min(d, wx*wx+wy*wy)
	}
	return d
}
