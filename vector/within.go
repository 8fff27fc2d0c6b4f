package vector

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// farM is the largest coordinate and distance FillWithin takes, in metres: far
// beyond any map, and small enough that no product of three overflows.
const farM = 1e9

// FillWithin writes value(i) into the cells of dst whose centre lies no
// farther than distM(i) metres from geometry i (frame CRS; points, lines,
// polygons with their inside, the multis of these and collections; nil is
// passed over). Where several are near, the last one's value stays. Cells near
// none keep what they hold. dst must have the frame's size. The number of
// cells written is returned, each counted once.
//
// The distance is that from point to straight side, not one between cells.
// It is compared without root or quotient, so that a centre exactly distM away
// counts whenever the coordinates are whole or short binary fractions of a
// metre. A distance of 0 keeps, of polygons, the centres inside and on the
// outline; lines and points hardly meet a centre, so that with 0 they take
// the cells they pass through: those whose square, its edge included, they meet.
//
// Each side costs a few operations for each row within reach, and one for
// every 64 cells there that are already taken. It works in bands of rows, so
// that dst may live in a scratch file.
func FillWithin(f raster.Frame, geoms []orb.Geometry, distM func(i int) float64, value func(i int) uint8, dst *raster.Plane[uint8]) (int, error) {
	if w, h := dst.Size(); w != f.W || h != f.H {
		panic(fmt.Sprintf("vector: plane of %d × %d for a frame of %d × %d", w, h, f.W, f.H))
	}
	var around []*surround
	for i, g := range geoms {
		s, err := newSurround(f, g, distM(i), value(i))
		if err != nil {
			return 0, fmt.Errorf("feature %d: %w", i, err)
		}
		if s != nil {
			around = append(around, s)
		}
	}
	c := newClaims(f.W, max(1, min(f.H, bandCells/f.W)))
	for y0 := 0; y0 < f.H; y0 += c.rows {
		y1 := min(y0+c.rows, f.H)
		begun := false
		// From last to first, and each cell only once: the last one's value stays.
		for k := len(around) - 1; k >= 0; k-- {
			s := around[k]
			if s.first >= y1 || s.end <= y0 {
				continue
			}
			if !begun {
				if err := c.begin(dst, y0, y1); err != nil {
					return c.n, err
				}
				begun = true
			}
			s.claim(y0, y1, c)
		}
		if begun {
			if err := dst.Write(0, y0, f.W, y1-y0, c.cells[:(y1-y0)*f.W]); err != nil {
				return c.n, err
			}
		}
	}
	return c.n, nil
}

// surround is one geometry and what lies within reach of it, on the way down
// the rows.
type surround struct {
	frame      raster.Frame
	geometry   orb.Geometry
	fills      []*fill // the insides of its polygons
	reach      float64 // metres
	value      uint8
	first, end int // rows it may meet: first … end−1
}

// newSurround gives nil for a geometry that meets no row of the frame.
func newSurround(f raster.Frame, g orb.Geometry, distM float64, value uint8) (*surround, error) {
	if !(distM >= 0 && distM <= farM) {
		return nil, fmt.Errorf("a distance of %g m; give one from 0 to %g", distM, farM)
	}
	if isEmpty(g) {
		return nil, nil
	}
	for _, p := range pointsOf(g, nil) {
		if !(math.Abs(p[0]) <= farM && math.Abs(p[1]) <= farM) {
			return nil, fmt.Errorf("a point at (%g, %g), which is on no map in metres", p[0], p[1])
		}
	}
	s := &surround{frame: f, geometry: g, reach: distM, value: value}
	b := g.Bound()
	k := newCapsule(f, b.Min, b.Max, distM, distM == 0)
	s.first, s.end = k.first, k.end
	west, _, east, _ := f.Bounds()
	if s.first >= s.end || b.Max[0]+k.pad < west || b.Min[0]-k.pad > east {
		return nil, nil
	}
	s.fills = insides(f, g, nil)
	return s, nil
}

// insides readies the filling of each polygon of g.
func insides(f raster.Frame, g orb.Geometry, fills []*fill) []*fill {
	switch g := g.(type) {
	case orb.Polygon:
		return appendFill(fills, f, g, 0)
	case orb.MultiPolygon:
		for _, p := range g {
			fills = appendFill(fills, f, p, 0)
		}
	case orb.Collection:
		for _, m := range g {
			fills = insides(f, m, fills)
		}
	}
	return fills
}

// claim takes the cells of rows y0 … y1−1; bands must come in order.
func (s *surround) claim(y0, y1 int, c *claims) {
	for _, p := range s.fills {
		p.spans(y0, y1, c.w, func(y, from, to int) { c.take(y, from, to, s.value) })
	}
	eachSide(s.geometry, func(a, b orb.Point, outline bool) {
		k := newCapsule(s.frame, a, b, s.reach, s.reach == 0 && !outline)
		for y := max(k.first, y0); y < min(k.end, y1); y++ {
			if from, to := k.columns(y); from < to {
				c.take(y, from, to, s.value)
			}
		}
	})
}

// eachSide calls side for every straight piece of g, with one point twice for
// a point; outline tells the sides of polygons from lines and points.
func eachSide(g orb.Geometry, side func(a, b orb.Point, outline bool)) {
	line := func(l []orb.Point) {
		if len(l) == 1 {
			side(l[0], l[0], false)
		}
		for i := 1; i < len(l); i++ {
			side(l[i-1], l[i], false)
		}
	}
	switch g := g.(type) {
	case orb.Point:
		side(g, g, false)
	case orb.MultiPoint:
		for _, p := range g {
			side(p, p, false)
		}
	case orb.LineString:
		line(g)
	case orb.MultiLineString:
		for _, l := range g {
			line(l)
		}
	case orb.Ring:
		line(g)
	case orb.Polygon:
		for _, r := range g {
			for i := range r {
				side(r[i], r[(i+1)%len(r)], true)
			}
		}
	case orb.MultiPolygon:
		for _, p := range g {
			eachSide(p, side)
		}
	case orb.Collection:
		for _, m := range g {
			eachSide(m, side)
		}
	}
}
