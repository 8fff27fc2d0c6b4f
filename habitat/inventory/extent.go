package inventory

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// extent is the surveyed ground on the cells of a frame of its own: the run's
// frame grown by what lies near enough to matter, cut to the surveyed ground
// with one cell around it.
type extent struct {
	frame   raster.Frame
	dx, dy  int                  // the run frame's cell (0, 0) is cell (dx, dy) here
	outside *raster.Plane[uint8] // 1 outside the surveyed ground, 0 inside

	polygons []orb.Geometry
}

// newExtent fills the polygons (frame's system) into cells. nil means that no
// surveyed cell lies within pad cells of the frame. A cell belongs to the
// ground that holds its centre, and so do the trees in it: trees gained and
// lost along the border balance.
func newExtent(ctx context.Context, polygons []orb.Geometry, f raster.Frame, pad int, scratch *raster.Scratch) (*extent, error) {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, g := range polygons {
		b = b.Union(g.Bound())
	}
	x0, x1 := cells(b.Min[0]-f.X0, b.Max[0]-f.X0, f.Cell, pad, f.W)
	y0, y1 := cells(f.Y0-b.Max[1], f.Y0-b.Min[1], f.Cell, pad, f.H)
	if x0 >= x1 || y0 >= y1 {
		return nil, nil
	}
	e := &extent{frame: f.Cut(x0, y0, x1-x0, y1-y0), dx: -x0, dy: -y0, polygons: polygons}
	var err error
	if e.outside, err = raster.NewPlane[uint8](e.frame.W, e.frame.H, scratch.Cold()); err != nil {
		return nil, err
	}
	if err := e.outside.Fill(ctx, 1); err == nil {
		_, err = vector.FillPolygonValues(e.frame, polygons, func(int) uint8 { return 0 }, e.outside)
		if err == nil {
			return e, nil
		}
		e.outside.Close()
		return nil, fmt.Errorf("surveyed ground: %w", err)
	}
	e.outside.Close()
	return nil, ctx.Err()
}

// cells gives the columns from lo to hi (metres from the frame's edge) with one
// more on either side, within pad of the frame.
func cells(lo, hi, cell float64, pad, n int) (first, end int) {
	a, b := math.Floor(lo/cell)-1, math.Floor(hi/cell)+2
	// Compared before they become whole numbers: coordinates may be huge.
	return int(min(max(a, float64(-pad)), float64(n+pad))), int(max(min(b, float64(n+pad)), float64(-pad)))
}

// readExtent reads the polygons of the surveyed ground.
func readExtent(ctx context.Context, q vector.Query, f raster.Frame) ([]orb.Geometry, []string, error) {
	layer, err := vector.Read(ctx, q, f.WKT)
	if err != nil {
		return nil, nil, fmt.Errorf("surveyed ground: %w", err)
	}
	var out []orb.Geometry
	for _, feature := range layer.Features {
		switch g := feature.Geometry.(type) {
		case orb.Polygon, orb.MultiPolygon:
			out = append(out, g)
		default:
			return nil, nil, fmt.Errorf("surveyed ground: %q: FID %d is no polygon; give a layer of polygons", q.Path, feature.FID)
		}
	}
	return out, layer.Warnings, nil
}

// hullSides is how many sides stand for the circle a hull is grown by: short of
// it by 0.12 % of the radius at most.
const hullSides = 64

// grownHull is the convex hull of the records, grown by growM metres.
func grownHull(records []record, growM float64) orb.Polygon {
	pts := make([]orb.Point, len(records))
	for i, t := range records {
		pts[i] = orb.Point{t.x, t.y}
	}
	// Growing by a disc is the sum of two convex shapes: the hull of all sums of
	// their corners.
	var sums []orb.Point
	for _, p := range convexHull(pts) {
		for k := range hullSides {
			s, c := math.Sincos(2 * math.Pi * float64(k) / hullSides)
			sums = append(sums, orb.Point{p[0] + growM*c, p[1] + growM*s})
		}
	}
	ring := orb.Ring(convexHull(sums))
	if len(ring) > 0 {
		ring = append(ring, ring[0])
	}
	return orb.Polygon{ring}
}

// convexHull gives the corners counter-clockwise (Andrew 1979, Information
// Processing Letters 9:216–219, from memory). pts is sorted.
func convexHull(pts []orb.Point) []orb.Point {
	slices.SortFunc(pts, func(a, b orb.Point) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	pts = slices.Compact(pts)
	if len(pts) < 3 {
		return pts
	}
	var hull []orb.Point
	half := func(next func(func(int, orb.Point) bool)) {
		start := len(hull)
		next(func(_ int, p orb.Point) bool {
			for len(hull) >= start+2 && turn(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
				hull = hull[:len(hull)-1]
			}
			hull = append(hull, p)
			return true
		})
		hull = hull[:len(hull)-1]
	}
	half(slices.All(pts))
	half(slices.Backward(pts))
	return hull
}

func turn(a, b, c orb.Point) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// ringArea is the area of a closed ring in m².
func ringArea(r orb.Ring) float64 {
	sum := 0.0
	for i := 1; i < len(r); i++ {
		// From the first corner, so that large coordinates do not cancel.
		sum += turn(r[0], r[i-1], r[i])
	}
	return math.Abs(sum) / 2
}
