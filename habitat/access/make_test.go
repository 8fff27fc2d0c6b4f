package access

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// frame is w×h cells of 10 m with its south-west corner at 500000, 4600000 in
// UTM zone 15 north.
func frame(t testing.TB, w, h int) raster.Frame {
	t.Helper()
	crs, err := raster.ParseCRS("EPSG:32615")
	if err != nil {
		t.Fatal(err)
	}
	return raster.Frame{W: w, H: h, X0: 500000, Y0: 4600000 + 10*float64(h), Cell: 10, WKT: crs.WKT, EPSG: 32615, Name: crs.Name}
}

// shift moves a geometry given from the frame's south-west corner.
func shift(g orb.Geometry) orb.Geometry {
	move := func(l []orb.Point) []orb.Point {
		out := make([]orb.Point, len(l))
		for i, p := range l {
			out[i] = orb.Point{500000 + p[0], 4600000 + p[1]}
		}
		return out
	}
	switch g := g.(type) {
	case orb.Point:
		return move([]orb.Point{g})[0]
	case orb.LineString:
		return orb.LineString(move(g))
	case orb.Polygon:
		var out orb.Polygon
		for _, r := range g {
			out = append(out, move(r))
		}
		return out
	case orb.MultiPolygon:
		var out orb.MultiPolygon
		for _, p := range g {
			out = append(out, shift(p).(orb.Polygon))
		}
		return out
	}
	panic(fmt.Sprintf("shift: %T", g))
}

// box is a rectangle, from the frame's south-west corner.
func box(w, s, e, n float64) orb.Geometry {
	return shift(orb.Polygon{{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}}})
}

// row is one feature of a layer to be written.
type row struct {
	shape  orb.Geometry
	values []any // string, int or nil
}

// layer writes rows to a new GeoPackage in EPSG:32615. Columns of whole
// numbers end in #.
func layer(t testing.TB, kind, columns string, rows ...row) string {
	t.Helper()
	out := vector.OutLayer{Name: "made", Geometry: kind}
	for _, c := range strings.Fields(columns) {
		field := vector.FieldInfo{Name: c, Type: "String"}
		if name, whole := strings.CutSuffix(c, "#"); whole {
			field = vector.FieldInfo{Name: name, Type: "Integer64"}
		}
		out.Fields = append(out.Fields, field)
	}
	for _, r := range rows {
		ft := vector.Feature{Geometry: r.shape}
		for _, v := range r.values {
			switch v := v.(type) {
			case string:
				ft.Values = append(ft.Values, vector.TextValue(v))
			case int:
				ft.Values = append(ft.Values, vector.IntValue(int64(v)))
			default:
				ft.Values = append(ft.Values, vector.Value{})
			}
		}
		out.Features = append(out.Features, ft)
	}
	path := filepath.Join(t.TempDir(), "made.gpkg")
	if err := vector.WriteGeoPackage(path, frame(t, 1, 1).WKT, []vector.OutLayer{out}); err != nil {
		t.Fatal(err)
	}
	return path
}

func text(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func from(path string) vector.Query { return vector.Query{Path: path} }

func read(t testing.TB, f raster.Frame, sources ...Source) (*Land, []string) {
	t.Helper()
	l, warnings, err := Read(context.Background(), sources, f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(l.Close)
	return l, warnings
}

// drawn shows a plane, one digit a cell, rows between slashes.
func drawn(t testing.TB, p *raster.Plane[uint8]) string {
	t.Helper()
	w, h := p.Size()
	cells := make([]uint8, w*h)
	if err := p.Read(0, 0, w, h, cells); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for i, v := range cells {
		if i > 0 && i%w == 0 {
			b.WriteByte('/')
		}
		b.WriteByte(".123456789"[v])
	}
	return b.String()
}

// star is a ring around a place with a random reach in each direction.
func star(r *rand.Rand, cx, cy, reach float64) orb.Ring {
	var out orb.Ring
	for i, n := 0, 3+r.IntN(20); i < n; i++ {
		a := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n)
		d := reach * (0.2 + 0.8*r.Float64())
		out = append(out, orb.Point{cx + d*math.Cos(a), cy + d*math.Sin(a)})
	}
	return append(out, out[0])
}

// someUnits are n random units over w×h metres, many of them overlapping.
func someUnits(r *rand.Rand, n int, w, h float64) []Unit {
	var out []Unit
	for i := range n {
		polygon := func() orb.Polygon {
			x, y := w*r.Float64(), h*r.Float64()
			return orb.Polygon{star(r, x, y, 150), star(r, x, y, 8)} // the outer ring reaches at least 30
		}
		var g orb.Geometry = shift(polygon())
		if i%4 == 3 {
			g = shift(orb.MultiPolygon{polygon(), polygon()})
		}
		out = append(out, Unit{Name: fmt.Sprintf("unit %d", i/2), Status: Status(r.IntN(statuses)), Geometry: g})
	}
	return out
}

// landOf lays units on a frame without a file.
func landOf(t testing.TB, f raster.Frame, units []Unit) *Land {
	t.Helper()
	p, err := raster.NewPlane[uint8](f.W, f.H, nil)
	if err != nil {
		t.Fatal(err)
	}
	l := &Land{Status: p, Units: units}
	if err := l.draw(f); err != nil {
		t.Fatal(err)
	}
	return l
}
