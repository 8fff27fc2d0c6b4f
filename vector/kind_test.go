package vector

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

const mixedKinds = `{"type":"FeatureCollection","features":[
{"type":"Feature","id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,1]}},
{"type":"Feature","id":2,"properties":{},"geometry":{"type":"LineString","coordinates":[[0,0],[1,1,7]]}},
{"type":"Feature","id":3,"properties":{},"geometry":{"type":"Polygon","coordinates":[[[0,0,5],[1,0,5],[1,1,5],[0,0,5]]]}},
{"type":"Feature","id":4,"properties":{},"geometry":{"type":"MultiPoint","coordinates":[[2,2],[3,3]]}},
{"type":"Feature","id":5,"properties":{},"geometry":{"type":"GeometryCollection","geometries":[
 {"type":"Point","coordinates":[4,4]},
 {"type":"Polygon","coordinates":[[[5,5],[6,5],[6,6],[5,5]]]},
 {"type":"GeometryCollection","geometries":[{"type":"MultiPolygon","coordinates":[[[[7,7],[8,7],[8,8],[7,7]]]]}]}]}},
{"type":"Feature","id":6,"properties":{},"geometry":{"type":"GeometryCollection","geometries":[
 {"type":"LineString","coordinates":[[9,9],[9,10]]}]}},
{"type":"Feature","id":7,"properties":{},"geometry":{"type":"MultiLineString","coordinates":[[[0,0],[1,1]],[[2,2],[3,3]]]}},
{"type":"Feature","id":8,"properties":{},"geometry":null}]}`

func TestReadTakesTheWantedKind(t *testing.T) {
	path := write(t, "mixed.geojson", mixedKinds)
	null := "1 feature (FID 8) without geometry left out"
	for _, c := range []struct {
		kind     Kind
		want     map[int64]orb.Geometry
		warnings []string
	}{
		{Points, map[int64]orb.Geometry{1: orb.Point{1, 1}, 4: orb.MultiPoint{{2, 2}, {3, 3}}, 5: orb.Point{4, 4}}, []string{
			null,
			"4 features (FID 2, 3, 6, 7) left out: 1 polygon, 2 lines and 1 collection where points are wanted",
			"1 feature (FID 5) with shapes of several kinds, of which the points are taken",
		}},
		{Lines, map[int64]orb.Geometry{
			2: orb.LineString{{0, 0}, {1, 1}},
			6: orb.LineString{{9, 9}, {9, 10}},
			7: orb.MultiLineString{{{0, 0}, {1, 1}}, {{2, 2}, {3, 3}}},
		}, []string{
			null,
			"4 features (FID 1, 3, 4, 5) left out: 1 polygon, 2 points and 1 collection where lines are wanted",
			"1 feature (FID 6) with shapes of several kinds, of which the lines are taken",
		}},
		{Polygons, map[int64]orb.Geometry{
			3: orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}},
			5: orb.MultiPolygon{{{{5, 5}, {6, 5}, {6, 6}, {5, 5}}}, {{{7, 7}, {8, 7}, {8, 8}, {7, 7}}}},
		}, []string{
			null,
			"5 features (FID 1, 2, 4, 6, 7) left out: 2 lines, 2 points and 1 collection where polygons are wanted",
			"1 feature (FID 5) with shapes of several kinds, of which the polygons are taken",
		}},
	} {
		t.Run(c.kind.String(), func(t *testing.T) {
			l, err := Read(t.Context(), Query{Path: path, Kind: c.kind}, "")
			if err != nil {
				t.Fatal(err)
			}
			got := map[int64]orb.Geometry{}
			for _, f := range l.Features {
				got[f.FID] = f.Geometry
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("shapes (-want +got):\n%s", d)
			}
			var said []string
			for _, w := range l.Warnings {
				said = append(said, w[strings.Index(w, `": `)+len(`": layer "mixed": `):])
			}
			if d := cmp.Diff(c.warnings, said); d != "" {
				t.Errorf("warnings (-want +got):\n%s", d)
			}
		})
	}
	l, err := Read(t.Context(), Query{Path: path}, "")
	if err != nil || len(l.Features) != 7 || len(l.Warnings) != 1 {
		t.Errorf("any kind: %d features, %q, %v", len(l.Features), l.Warnings, err)
	}
}

func TestReadRefusesALayerOfOtherKinds(t *testing.T) {
	lines := gpkg(t, 32618, rivers(), OutLayer{Name: "gauges", Fields: []FieldInfo{{"n", "Integer64"}}, Features: []Feature{{Values: []Value{IntValue(1)}}}})
	mixed := write(t, "a.geojson", `{"type":"FeatureCollection","features":[
{"type":"Feature","id":1,"properties":{},"geometry":{"type":"Point","coordinates":[1,1]}},
{"type":"Feature","id":2,"properties":{},"geometry":{"type":"LineString","coordinates":[[0,0],[1,1]]}},
{"type":"Feature","id":3,"properties":{},"geometry":{"type":"Point","coordinates":[2,1]}}]}`)
	for _, c := range []struct {
		name string
		q    Query
		want string
	}{
		{"one kind", Query{Path: lines, Layer: "rivers", Kind: Polygons}, `layer "rivers": it holds 3 lines where polygons are wanted; name another layer`},
		{"two kinds", Query{Path: mixed, Kind: Polygons}, "it holds 1 line and 2 points where polygons are wanted"},
		{"elsewhere", Query{Path: lines, Layer: "rivers", Kind: Points, Bounds: &[4]float64{0, 0, 1, 1}}, "it holds lines where points are wanted"},
		{"a table", Query{Path: lines, Layer: "gauges", Kind: Points}, "it is a table without shapes; points are wanted"},
		{"no kind", Query{Path: lines, Layer: "rivers", Kind: 9}, "kind 9 is no kind of shape"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(t.Context(), c.q, "")
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("error %v, want %q", err, c.want)
			}
			oneCleanLine(t, err.Error())
		})
	}
}

// A circle of radius 10, drawn as two arcs, with a height and a measure at each
// point: read straight-edged and flat.
func TestReadStraightensCurves(t *testing.T) {
	csv := write(t, "circle.csv", "id,WKT\n1,\"CURVEPOLYGON (CIRCULARSTRING (0 10,10 0,0 -10,-10 0,0 10))\"\n")
	path := convertWith(t, csv, "GPKG", "gpkg", "-oo", "GEOM_POSSIBLE_NAMES=WKT", "-nlt", "CURVEPOLYGON", "-a_srs", "EPSG:32618")
	l, err := Read(t.Context(), Query{Path: path, Kind: Polygons}, "")
	if err != nil || len(l.Features) != 1 || len(l.Warnings) > 0 {
		t.Fatalf("%d features, %q, %v", len(l.Features), l.Warnings, err)
	}
	if a := areaOf(l.Features[0].Geometry); math.Abs(a-100*math.Pi) > 0.5 {
		t.Errorf("area %g of %v, want about 100 π", a, l.Features[0].Geometry)
	}
	zm := write(t, "zm.csv", "id,WKT\n1,\"POLYGON ZM ((0 0 1 2,10 0 3 4,10 10 5 6,0 0 1 2))\"\n")
	path = convertWith(t, zm, "GPKG", "gpkg", "-oo", "GEOM_POSSIBLE_NAMES=WKT", "-a_srs", "EPSG:32618")
	l, err = Read(t.Context(), Query{Path: path, Kind: Polygons}, "")
	if err != nil || len(l.Features) != 1 || len(l.Warnings) > 0 {
		t.Fatalf("%d features, %q, %v", len(l.Features), l.Warnings, err)
	}
	if d := cmp.Diff(orb.Geometry(orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 0}}}), l.Features[0].Geometry); d != "" {
		t.Errorf("shape (-want +got):\n%s", d)
	}
}
