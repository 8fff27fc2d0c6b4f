package vector

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
)

// fine is a position in 10⁻⁷ degrees: rounding, comparing and printing are then exact.
type fine [2]int64

const perDegree = 1e7

// span is the box of one part of a geometry, for the bbox.
type span struct{ min, max fine }

func toFine(p orb.Point) (fine, error) {
	if !(math.Abs(p[0]) <= 180 && math.Abs(p[1]) <= 90) {
		return fine{}, fmt.Errorf("position (%g, %g) is not longitude and latitude", p[0], p[1])
	}
	return fine{int64(math.Round(p[0] * perDegree)), int64(math.Round(p[1] * perDegree))}, nil
}

// round rounds positions and drops each that repeats the one before it.
func round(pts []orb.Point) ([]fine, error) {
	out := make([]fine, 0, len(pts))
	for _, p := range pts {
		f, err := toFine(p)
		if err != nil {
			return nil, err
		}
		if n := len(out); n == 0 || out[n-1] != f {
			out = append(out, f)
		}
	}
	for i := 1; i < len(out); i++ {
		if d := out[i][0] - out[i-1][0]; d > 180*perDegree || d < -180*perDegree {
			return nil, fmt.Errorf("a side crosses the antimeridian near latitude %g; cut the geometry there", float64(out[i][1])/perDegree)
		}
	}
	return out, nil
}

// geometryWriter writes one geometry object and notes the spans of its parts.
type geometryWriter struct {
	b     *bytes.Buffer
	spans []span
}

func writeGeometry(b *bytes.Buffer, g orb.Geometry) ([]span, error) {
	w := geometryWriter{b: b}
	g, err := CutAtAntimeridian(g)
	if err != nil {
		return nil, err
	}
	err = w.object(g)
	return w.spans, err
}

func (w *geometryWriter) object(g orb.Geometry) error {
	switch s := g.(type) {
	case orb.Ring:
		g = orb.Polygon{s}
	case orb.Bound:
		g = s.ToPolygon()
	case orb.Collection:
		w.b.WriteString(`{"type":"GeometryCollection","geometries":`)
		err := each(w, s, w.object)
		w.b.WriteByte('}')
		return err
	}
	fmt.Fprintf(w.b, `{"type":%q,"coordinates":`, g.GeoJSONType())
	var err error
	switch g := g.(type) {
	case orb.Point:
		err = w.point(g)
	case orb.MultiPoint:
		err = each(w, g, w.point)
	case orb.LineString:
		err = w.line(g)
	case orb.MultiLineString:
		err = each(w, g, w.line)
	case orb.Polygon:
		err = w.polygon(g)
	case orb.MultiPolygon:
		err = each(w, g, w.polygon)
	default:
		err = fmt.Errorf("geometry %T cannot be written", g)
	}
	w.b.WriteByte('}')
	return err
}

// each writes a JSON array of parts.
func each[T any](w *geometryWriter, parts []T, write func(T) error) error {
	w.b.WriteByte('[')
	for i, p := range parts {
		if i > 0 {
			w.b.WriteByte(',')
		}
		if err := write(p); err != nil {
			return err
		}
	}
	w.b.WriteByte(']')
	return nil
}

func (w *geometryWriter) point(p orb.Point) error {
	f, err := toFine(p)
	w.spans = append(w.spans, span{f, f})
	w.position(f)
	return err
}

func (w *geometryWriter) line(l orb.LineString) error {
	pts, err := round(l)
	if err != nil {
		return err
	}
	if len(pts) < 2 {
		return fmt.Errorf("a line has fewer than 2 positions left after rounding to 7 decimals")
	}
	w.positions(pts)
	w.spans = append(w.spans, spanOf(pts))
	return nil
}

func (w *geometryWriter) polygon(p orb.Polygon) error {
	if len(p) == 0 {
		return fmt.Errorf("a polygon has no ring")
	}
	w.b.WriteByte('[')
	for i, r := range p {
		pts, err := ring(r, i > 0)
		if err != nil {
			return err
		}
		if i == 0 {
			w.spans = append(w.spans, spanOf(pts))
		} else {
			w.b.WriteByte(',')
		}
		w.positions(pts)
	}
	w.b.WriteByte(']')
	return nil
}

// ring rounds, closes and winds a ring: outer ones counter-clockwise, holes
// clockwise (RFC 7946 section 3.1.6).
func ring(r orb.Ring, hole bool) ([]fine, error) {
	pts, err := round(r)
	if err != nil {
		return nil, err
	}
	if n := len(pts); n > 0 && pts[0] != pts[n-1] {
		pts = append(pts, pts[0])
	}
	if len(pts) < 4 {
		return nil, fmt.Errorf("a ring has fewer than 4 positions left after rounding to 7 decimals")
	}
	area := doubleArea(pts)
	if area == 0 {
		return nil, fmt.Errorf("a ring has no area left after rounding to 7 decimals")
	}
	if (area > 0) == hole {
		slices.Reverse(pts)
	}
	return pts, nil
}

// doubleArea is twice the signed area, positive for counter-clockwise rings,
// taken about the first position so that small rings keep all their digits.
func doubleArea(pts []fine) float64 {
	sum := 0.0
	for i := 2; i < len(pts); i++ {
		ax, ay := float64(pts[i-1][0]-pts[0][0]), float64(pts[i-1][1]-pts[0][1])
		bx, by := float64(pts[i][0]-pts[0][0]), float64(pts[i][1]-pts[0][1])
		sum += ax*by - bx*ay
	}
	return sum
}

func (w *geometryWriter) positions(pts []fine) {
	w.b.WriteByte('[')
	for i, p := range pts {
		if i > 0 {
			w.b.WriteByte(',')
		}
		w.position(p)
	}
	w.b.WriteByte(']')
}

func (w *geometryWriter) position(p fine) {
	w.b.WriteByte('[')
	writeFine(w.b, p[0])
	w.b.WriteByte(',')
	writeFine(w.b, p[1])
	w.b.WriteByte(']')
}

// writeFine prints 10⁻⁷ degrees as degrees, without trailing zeros or −0.
func writeFine(b *bytes.Buffer, v int64) {
	if v < 0 {
		b.WriteByte('-')
		v = -v
	}
	b.Write(strconv.AppendInt(nil, v/perDegree, 10))
	if rest := v % perDegree; rest != 0 {
		digits := fmt.Sprintf("%07d", rest)
		b.WriteByte('.')
		b.Write(bytes.TrimRight([]byte(digits), "0"))
	}
}

func spanOf(pts []fine) span {
	s := span{pts[0], pts[0]}
	for _, p := range pts {
		for k := range 2 {
			s.min[k], s.max[k] = min(s.min[k], p[k]), max(s.max[k], p[k])
		}
	}
	return s
}

// writeBBox writes west, south, east, north of the spans; nothing when there
// are none. Parts on both sides of the antimeridian give a box across it, its
// west larger than its east (RFC 7946 section 5.2), when that is the narrower.
func writeBBox(b *bytes.Buffer, spans []span) {
	if len(spans) == 0 {
		return
	}
	box := spans[0]
	for _, s := range spans {
		for k := range 2 {
			box.min[k], box.max[k] = min(box.min[k], s.min[k]), max(box.max[k], s.max[k])
		}
	}
	if box.max[0]-box.min[0] > 180*perDegree {
		box = acrossAntimeridian(box, spans)
	}
	b.WriteString(`,"bbox":[`)
	for i, v := range [4]int64{box.min[0], box.min[1], box.max[0], box.max[1]} {
		if i > 0 {
			b.WriteByte(',')
		}
		writeFine(b, v)
	}
	b.WriteByte(']')
}

// acrossAntimeridian looks for the widest empty stretch of longitude between
// the spans; when it is wider than the one across the antimeridian, the box
// that leaves it out is the narrower.
func acrossAntimeridian(box span, spans []span) span {
	byWest := slices.Clone(spans)
	slices.SortFunc(byWest, func(a, b span) int { return int(a.min[0] - b.min[0]) })
	widest := 360*perDegree - float64(box.max[0]-box.min[0])
	east := byWest[0].max[0]
	out := box
	for _, s := range byWest[1:] {
		if gap := float64(s.min[0] - east); gap > widest {
			widest = gap
			out.min[0], out.max[0] = s.min[0], east
		}
		east = max(east, s.max[0])
	}
	return out
}
