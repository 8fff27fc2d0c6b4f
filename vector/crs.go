package vector

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
)

// CRS is a coordinate reference system, its horizontal part.
type CRS struct {
	WKT           string
	Name          string
	EPSG          int     // code, 0 when it has none
	Projected     bool    // coordinates are lengths on a map plane
	Geographic    bool    // coordinates are longitude and latitude, degrees
	Local         bool    // an engineering grid of unknown place
	MetresPerUnit float64 // metres in one unit of a projected CRS, else 0
}

// WGS84 is the EPSG code of longitude and latitude as GPS and GeoJSON use them.
const WGS84 = 4326

// ParseCRS reads a CRS a person named: "EPSG:n" or WKT. Nothing else is
// accepted: no file, no address, no catalogue name.
func ParseCRS(text string) (CRS, error) {
	s := strings.TrimSpace(text)
	if code, ok := cutPrefixFold(s, "EPSG:"); ok {
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil || n < 1 {
			return CRS{}, fmt.Errorf("crs %q: want EPSG: and a whole number", s)
		}
		return CRSFromEPSG(n)
	}
	if strings.Contains(s, "[") && !strings.ContainsRune(s, 0) {
		return DescribeCRS(s)
	}
	return CRS{}, fmt.Errorf("crs %q: want \"EPSG:n\" or WKT", shorten(s))
}

// CRSFromEPSG gives the CRS with an EPSG code.
func CRSFromEPSG(code int) (CRS, error) {
	if code < 1 || code > math.MaxInt32 {
		return CRS{}, fmt.Errorf("crs EPSG:%d: no such code", code)
	}
	c, err := crsFromEPSG(code)
	if err != nil {
		return CRS{}, fmt.Errorf("crs EPSG:%d: %w", code, err)
	}
	return c, nil
}

// DescribeCRS reads a WKT.
func DescribeCRS(wkt string) (CRS, error) {
	if strings.ContainsRune(wkt, 0) {
		return CRS{}, fmt.Errorf("crs %q: not WKT", shorten(wkt))
	}
	c, err := crsFromWKT(wkt)
	if err != nil {
		return CRS{}, fmt.Errorf("crs %q: %w", shorten(wkt), err)
	}
	return c, nil
}

// UTMZone gives the WGS 84 / UTM zone of a place (degrees): EPSG 32601–32660
// north of the equator, 32701–32760 south. The zones are the plain 6° ones,
// without the exceptions of the military grid around Norway and Svalbard.
// UTM is defined from 80° S to 84° N.
func UTMZone(lon, lat float64) (CRS, error) {
	if !(lon >= -180 && lon <= 180 && lat >= -80 && lat <= 84) {
		return CRS{}, fmt.Errorf("no UTM zone at longitude %g, latitude %g", lon, lat)
	}
	zone := min(int(math.Floor((lon+180)/6))+1, 60)
	base := 32600
	if lat < 0 {
		base = 32700
	}
	return CRSFromEPSG(base + zone)
}

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
		if _, err := DescribeCRS(fromWKT); err != nil {
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
	to, err := CRSFromEPSG(WGS84)
	if err != nil {
		return nil, err
	}
	return NewTransformer(fromWKT, to.WKT)
}

// FromWGS84 makes a transformer from longitude and latitude.
func FromWGS84(toWKT string) (*Transformer, error) {
	from, err := CRSFromEPSG(WGS84)
	if err != nil {
		return nil, err
	}
	return NewTransformer(from.WKT, toWKT)
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

func cutPrefixFold(s, prefix string) (string, bool) {
	if len(s) >= len(prefix) && strings.EqualFold(s[:len(prefix)], prefix) {
		return s[len(prefix):], true
	}
	return s, false
}

// shorten keeps error texts to one short line.
func shorten(s string) string {
	s = oneLine(s)
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}
