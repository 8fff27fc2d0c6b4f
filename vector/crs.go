package vector

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Transformer moves points from one CRS to another, x = east and y = north on
// both sides. It may be used by several goroutines; they take turns.
type Transformer struct{ t *transformation }

// NewTransformer makes a transformer between two CRS given as WKT. It does
// nothing when the texts are equal.
func NewTransformer(fromWKT, toWKT string) (*Transformer, error) {
	if strings.ContainsRune(fromWKT, 0) || strings.ContainsRune(toWKT, 0) {
		return nil, fmt.Errorf("transform: not WKT")
	}
	if fromWKT == toWKT {
		if _, err := raster.DescribeCRS(fromWKT); err != nil {
			return nil, err
		}
		return &Transformer{}, nil
	}
	t, err := newTransformation(fromWKT, toWKT)
	if err != nil {
		return nil, fmt.Errorf("transform from %q to %q: %w", shorten(fromWKT), shorten(toWKT), err)
	}
	return &Transformer{t}, nil
}

// ToWGS84 makes a transformer to longitude and latitude (degrees, EPSG:4326).
func ToWGS84(fromWKT string) (*Transformer, error) {
	return NewTransformer(fromWKT, raster.WGS84())
}

// FromWGS84 makes a transformer from longitude and latitude.
func FromWGS84(toWKT string) (*Transformer, error) {
	return NewTransformer(raster.WGS84(), toWKT)
}

// PointError is the first point a Transformer could not move.
type PointError struct {
	Index int
	Point orb.Point // as it was given
	Err   error
}

func (e *PointError) Error() string {
	return fmt.Sprintf("point %d (%g, %g) cannot be transformed: %v", e.Index, e.Point[0], e.Point[1], e.Err)
}

func (e *PointError) Unwrap() error { return e.Err }

// Points moves all points in place. The error is a *PointError; the slice is
// then partly moved and of no further use.
func (t *Transformer) Points(pts []orb.Point) error {
	if len(pts) == 0 || t.t == nil {
		return nil
	}
	failed, err := t.t.apply(pts)
	if failed < 0 {
		return nil
	}
	return &PointError{failed, pts[failed], err}
}

// Point moves one point.
func (t *Transformer) Point(p orb.Point) (orb.Point, error) {
	pts := []orb.Point{p}
	err := t.Points(pts)
	return pts[0], err
}

// Geometry gives a moved copy of a geometry.
func (t *Transformer) Geometry(g orb.Geometry) (orb.Geometry, error) {
	g = orb.Clone(g)
	pts := pointsOf(g, nil)
	if err := t.Points(pts); err != nil {
		return nil, err
	}
	g, _ = withPoints(g, pts)
	return g, nil
}

// boundsSteps is how many pieces each side of a box is cut into before it is
// transformed, since its straight sides become curves (the number GDAL's own
// bounds transformation uses by default, from memory).
const boundsSteps = 21

// Bounds gives the box (west, south, east, north) that holds the transformed
// box, its sides densified.
func (t *Transformer) Bounds(wsen [4]float64) ([4]float64, error) {
	pts := make([]orb.Point, 0, 4*boundsSteps)
	for i := range boundsSteps {
		f := float64(i) / boundsSteps
		x, y := wsen[0]+f*(wsen[2]-wsen[0]), wsen[1]+f*(wsen[3]-wsen[1])
		x2, y2 := wsen[2]-f*(wsen[2]-wsen[0]), wsen[3]-f*(wsen[3]-wsen[1])
		pts = append(pts, orb.Point{x, wsen[1]}, orb.Point{wsen[2], y}, orb.Point{x2, wsen[3]}, orb.Point{wsen[0], y2})
	}
	if err := t.Points(pts); err != nil {
		return wsen, err
	}
	b := orb.MultiPoint(pts).Bound()
	return [4]float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]}, nil
}

// shorten keeps error texts to one short line.
func shorten(s string) string {
	s = oneLine(s)
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}
