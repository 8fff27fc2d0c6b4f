package evidence

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// utm is a frame of 10 m cells in zone 17 north whose south-west corner is
// (500000, 4000000).
func utm(t testing.TB, w, h int) raster.Frame {
	t.Helper()
	c, err := raster.ParseCRS("EPSG:32617")
	if err != nil {
		t.Fatal(err)
	}
	return raster.Frame{W: w, H: h, X0: 500000, Y0: 4000000 + 10*float64(h), Cell: 10, WKT: c.WKT, EPSG: c.EPSG, Name: c.Name}
}

// box is a rectangle in cells from the south-west corner.
func box(w, s, e, n float64) orb.Polygon {
	x, y := func(v float64) float64 { return 500000 + 10*v }, func(v float64) float64 { return 4000000 + 10*v }
	return orb.Polygon{{{x(w), y(s)}, {x(e), y(s)}, {x(e), y(n)}, {x(w), y(n)}, {x(w), y(s)}}}
}

// shape is a feature of a test layer; values are text, nil for NULL.
type shape struct {
	g      orb.Geometry
	values []any
}

// layer writes a GeoPackage in the frame's CRS.
func layer(t testing.TB, f raster.Frame, kind string, names []string, shapes ...shape) vector.Query {
	t.Helper()
	out := vector.OutLayer{Name: "drawn", Geometry: kind}
	for _, n := range names {
		out.Fields = append(out.Fields, vector.FieldInfo{Name: n, Type: "String"})
	}
	for _, s := range shapes {
		feature := vector.Feature{Geometry: s.g}
		for _, v := range s.values {
			value := vector.Value{}
			if v != nil {
				value = vector.TextValue(fmt.Sprint(v))
			}
			feature.Values = append(feature.Values, value)
		}
		out.Features = append(out.Features, feature)
	}
	path := filepath.Join(t.TempDir(), "drawn.gpkg")
	if err := vector.WriteGeoPackage(path, f.WKT, []vector.OutLayer{out}); err != nil {
		t.Fatal(err)
	}
	return vector.Query{Path: path}
}

// geoJSON writes features in longitude and latitude, all with one property.
func geoJSON(t testing.TB, f raster.Frame, name, value string, shapes ...orb.Geometry) vector.Query {
	t.Helper()
	move, err := vector.ToWGS84(f.WKT)
	if err != nil {
		t.Fatal(err)
	}
	var features []any
	for _, g := range shapes {
		if g, err = move.Geometry(g); err != nil {
			t.Fatal(err)
		}
		features = append(features, map[string]any{"type": "Feature", "properties": map[string]any{name: value}, "geometry": plainGeometry(g)})
	}
	text, err := json.Marshal(map[string]any{"type": "FeatureCollection", "features": features})
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "drawn.geojson")
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	return vector.Query{Path: path}
}

// plainGeometry is a geometry as RFC 7946 has it.
func plainGeometry(g orb.Geometry) map[string]any {
	if c, ok := g.(orb.Collection); ok {
		var members []any
		for _, m := range c {
			members = append(members, plainGeometry(m))
		}
		return map[string]any{"type": "GeometryCollection", "geometries": members}
	}
	return map[string]any{"type": g.GeoJSONType(), "coordinates": g}
}

func read(t testing.TB, src Source, f raster.Frame) ([]Item, []string) {
	t.Helper()
	items, warnings, err := Read(t.Context(), src, f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	return items, warnings
}

// spoken gives, cell by cell, the value of the class, "" for none.
func spoken(t testing.TB, it Item) []string {
	t.Helper()
	var out []string
	for _, c := range cellsOf(t, it.Plane) {
		v := ""
		if c > 0 {
			v = it.Classes[c-1].Value
		}
		out = append(out, v)
	}
	return out
}

func counts(it Item) map[string]int64 {
	out := map[string]int64{}
	for _, c := range it.Classes {
		if c.Cells > 0 {
			out[c.Value] = c.Cells
		}
	}
	return out
}
