package vector

import (
	"math"

	"github.com/paulmach/orb"
)

// pointsOf appends all vertices of g to pts, in their order.
func pointsOf(g orb.Geometry, pts []orb.Point) []orb.Point {
	switch g := g.(type) {
	case orb.Point:
		return append(pts, g)
	case orb.MultiPoint:
		return append(pts, g...)
	case orb.LineString:
		return append(pts, g...)
	case orb.Ring:
		return append(pts, g...)
	case orb.MultiLineString:
		for _, l := range g {
			pts = append(pts, l...)
		}
	case orb.Polygon:
		for _, r := range g {
			pts = append(pts, r...)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			pts = pointsOf(p, pts)
		}
	case orb.Collection:
		for _, m := range g {
			pts = pointsOf(m, pts)
		}
	}
	return pts
}

// withPoints puts new vertices, as many as pointsOf gives, into g. Slices are
// overwritten in place; the geometry to go on with and the rest of pts are returned.
func withPoints(g orb.Geometry, pts []orb.Point) (orb.Geometry, []orb.Point) {
	take := func(dst []orb.Point) {
		copy(dst, pts)
		pts = pts[len(dst):]
	}
	switch g := g.(type) {
	case orb.Point:
		return pts[0], pts[1:]
	case orb.MultiPoint:
		take(g)
	case orb.LineString:
		take(g)
	case orb.Ring:
		take(g)
	case orb.MultiLineString:
		for _, l := range g {
			take(l)
		}
	case orb.Polygon:
		for _, r := range g {
			take(r)
		}
	case orb.MultiPolygon:
		for _, p := range g {
			_, pts = withPoints(p, pts)
		}
	case orb.Collection:
		for i := range g {
			g[i], pts = withPoints(g[i], pts)
		}
	}
	return g, pts
}

func finite(pts []orb.Point) bool {
	for _, p := range pts {
		// x − x is 0 for every finite x and NaN for the others.
		if p[0]-p[0] != 0 || p[1]-p[1] != 0 {
			return false
		}
	}
	return true
}

// isEmpty tells whether a geometry has no vertex; WKB writes an empty point as
// one whose coordinates are both NaN.
func isEmpty(g orb.Geometry) bool {
	if p, ok := g.(orb.Point); ok {
		return math.IsNaN(p[0]) && math.IsNaN(p[1])
	}
	return g == nil || len(pointsOf(g, nil)) == 0
}
