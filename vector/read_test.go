package vector

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func TestReadTellsNullFromZero(t *testing.T) {
	made := gpkg(t, 32618, rivers())
	files := map[string]string{"gpkg": made}
	for ext, driver := range map[string]string{"shp": "ESRI Shapefile", "geojson": "GeoJSON", "fgb": "FlatGeobuf"} {
		files[ext] = convert(t, made, driver, ext)
	}
	for ext, path := range files {
		t.Run(ext, func(t *testing.T) {
			l, err := Read(context.Background(), Query{Path: path, Fields: []string{"AREA_km2", "order", "name"}}, mustCRS(t, 32618).WKT)
			if err != nil {
				t.Fatal(err)
			}
			got := map[string][]string{}
			for _, f := range l.Features {
				var v []string
				for _, x := range f.Values {
					if x.IsNull() {
						v = append(v, "NULL")
					} else {
						v = append(v, x.String())
					}
				}
				// FlatGeobuf keeps its own order of features.
				got[fmt.Sprintf("%.0f", f.Geometry.Bound().Min[0])] = v
			}
			third := []string{"12.5", "3", ""}
			if ext == "shp" {
				third[2] = "NULL" // a dBase text has no way to tell empty from NULL
			}
			want := map[string][]string{"500000": {"0", "0", "Rill"}, "500100": {"NULL", "NULL", "NULL"}, "500300": third}
			if d := cmp.Diff(want, got); d != "" {
				t.Errorf("values (-want +got):\n%s", d)
			}
		})
	}
}

// convert makes another format of a file with GDAL's own program.
func convert(t *testing.T, path, driver, ext string) string {
	t.Helper()
	return convertWith(t, path, driver, ext)
}

func convertWith(t *testing.T, path, driver, ext string, options ...string) string {
	t.Helper()
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr is not installed")
	}
	out := filepath.Join(t.TempDir(), "made."+ext)
	if b, err := command(tool, append([]string{"-f", driver, out, path}, options...)...).CombinedOutput(); err != nil {
		t.Fatalf("ogr2ogr: %v\n%s", err, b)
	}
	return out
}

// damaged is a GeoPackage of many features with its middle overwritten.
func damaged(t *testing.T) string {
	l := OutLayer{Name: "many", Geometry: "LineString", Fields: []FieldInfo{{"n", "Integer64"}}}
	for i := range 20000 {
		x := float64(i)
		l.Features = append(l.Features, Feature{Geometry: orb.LineString{{x, 0}, {x + 1, 1}, {x + 2, 0}}, Values: []Value{IntValue(int64(i))}})
	}
	path := gpkg(t, 32618, l)
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := len(b) / 3; i < len(b)/3+64<<10; i++ {
		b[i] = 0xA5
	}
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestReadOfDamagedFileIsAnError(t *testing.T) {
	l, err := Read(context.Background(), Query{Path: damaged(t), Fields: []string{"n"}}, "")
	if err == nil {
		t.Fatalf("%d features and no error", len(l.Features))
	}
	if !strings.Contains(err.Error(), "malformed") || strings.Contains(err.Error(), "\n") {
		t.Errorf("error %q, want one line that says the file is malformed", err)
	}
}

func TestReadErrorsAreOneClearLine(t *testing.T) {
	two := gpkg(t, 32618, rivers(), OutLayer{Name: "trails", Geometry: "LineString"})
	empty := gpkg(t, 32618, OutLayer{Name: "nothing", Geometry: "LineString"})
	one := gpkg(t, 32618, rivers())
	dir := t.TempDir()
	csv := write(t, "finds.csv", "x,y\n1,2\n")
	fake := write(t, "dem.gpkg", "this is no database")
	noCRS := filepath.Join(dir, "bare.shp")
	copyShapefileWithoutPrj(t, convert(t, one, "ESRI Shapefile", "shp"), noCRS)
	if err := os.Mkdir(filepath.Join(dir, "folder.shp"), 0o755); err != nil {
		t.Fatal(err)
	}
	utm := mustCRS(t, 32617).WKT
	for _, c := range []struct {
		name string
		q    Query
		want string
		is   error
	}{
		{"no name", Query{}, "no file named", nil},
		{"missing", Query{Path: dir + "/none.gpkg"}, "no such file", nil},
		{"address", Query{Path: "http://127.0.0.1:9/a.geojson"}, "not the path of a file on this machine", nil},
		{"virtual", Query{Path: "/vsicurl/http://127.0.0.1:9/a.gpkg"}, "not the path of a file on this machine", nil},
		{"driver string", Query{Path: "GPKG:" + one + ":rivers"}, "no such file", nil},
		{"other kind of file", Query{Path: csv}, ".geojson", nil},
		{"folder", Query{Path: dir + "/folder.shp"}, "this is a folder, a .shp is a plain file", nil},
		{"no database", Query{Path: fake}, "not a readable vector file", nil},
		{"two layers", Query{Path: two}, `2 layers and none named; it has "rivers", "trails"`, nil},
		{"unknown layer", Query{Path: two, Layer: "roads"}, `no layer "roads"; it has "rivers", "trails"`, nil},
		{"unknown field", Query{Path: one, Fields: []string{"ordr"}}, `no field "ordr"; it has "name", "order", "area_km2"; did you mean "order"?`, nil},
		{"empty layer", Query{Path: empty}, "no features in it", ErrEmpty},
		{"no crs", Query{Path: noCRS}, "name the one it is in", ErrNoCRS},
		{"filter on unknown field", Query{Path: one, Where: "ordr = 3"}, `where "ordr = 3" is not understood (no column "ordr"); the columns are "name", "order", "area_km2"`, nil},
		{"filter on unknown quoted field", Query{Path: one, Where: `"ordr" = 3`}, `no field "ordr"`, nil},
		{"filter not closed", Query{Path: one, Where: "name = 'Rill"}, "not closed", nil},
		{"filter without sense", Query{Path: one, Where: "order ="}, `where "order =" is not understood ("order" is a word of SQL: as a column it stands in double quotes); the columns are`, nil},
		{"filter of another tongue", Query{Path: one, Where: "name = = 'Rill'"}, `where "name = = 'Rill'" is not understood; the columns are "name", "order", "area_km2"`, nil},
		{"filter with a strange function", Query{Path: one, Where: "foo(name) = 1"}, `where "foo(name) = 1" is not understood; the columns are`, nil},
		{"crs by file name", Query{Path: one, CRS: "/etc/passwd"}, "want EPSG:number or WKT", nil},
		{"crs unknown", Query{Path: one, CRS: "EPSG:999999"}, "999999", nil},
		{"bounds turned", Query{Path: one, Bounds: &[4]float64{2, 2, 1, 1}}, "want west, south, east, north", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(context.Background(), c.q, utm)
			if err == nil {
				t.Fatal("no error")
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %q, want one line with %q", err, c.want)
			}
			if c.is != nil && !errors.Is(err, c.is) {
				t.Errorf("error %q is not %v", err, c.is)
			}
		})
	}
}

func copyShapefileWithoutPrj(t *testing.T, from, to string) {
	t.Helper()
	for _, ext := range []string{".shp", ".shx", ".dbf"} {
		b, err := os.ReadFile(strings.TrimSuffix(from, ".shp") + ext)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(strings.TrimSuffix(to, ".shp")+ext, b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestReadLeavesTheFolderAlone(t *testing.T) {
	path := gpkg(t, 32618, rivers())
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Read(context.Background(), Query{Path: path}, ""); err != nil {
		t.Fatal(err)
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	names, err := os.ReadDir(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	if len(names) != 1 || string(before) != string(after) {
		t.Errorf("folder holds %v, file changed %t", names, string(before) != string(after))
	}
}

func TestReadLeavesOutAndCountsNullGeometry(t *testing.T) {
	path := write(t, "a.geojson", `{"type":"FeatureCollection","features":[
{"type":"Feature","id":7,"properties":{"a":1},"geometry":null},
{"type":"Feature","id":8,"properties":{"a":2},"geometry":{"type":"Point","coordinates":[-75,42]}},
{"type":"Feature","id":9,"properties":{"a":3},"geometry":{"type":"Point","coordinates":[]}}]}`)
	l, err := Read(context.Background(), Query{Path: path, Fields: []string{"a"}}, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Features) != 1 || l.Features[0].FID != 8 {
		t.Errorf("features %v, want the one with FID 8", l.Features)
	}
	if w := strings.Join(l.Warnings, "\n"); !strings.Contains(w, "2 features (FID 7, 9) without geometry left out") {
		t.Errorf("warnings %q", w)
	}
}

func TestReadAxisOrder(t *testing.T) {
	// EPSG:4326 and the NAD83 of EPSG:4269 declare latitude first; readers and
	// files of GIS use longitude first. (-75, 42) is in UTM zone 18 north, whose
	// central meridian 75° W has easting 500 000 by definition.
	path := write(t, "a.geojson", `{"type":"Point","coordinates":[-75,42]}`)
	for _, code := range []string{"", "EPSG:4326", "EPSG:4269"} {
		l, err := Read(context.Background(), Query{Path: path, CRS: code}, mustCRS(t, 32618).WKT)
		if err != nil {
			t.Fatal(err)
		}
		p := l.Features[0].Geometry.(orb.Point)
		// Northing: 4 649 776.22 m at 42° N on the central meridian, the meridian
		// arc of GRS80/WGS84 (4 651 636.9 m, from memory) times 0.9996.
		if math.Abs(p[0]-500000) > 2 || math.Abs(p[1]-4649776) > 3 {
			t.Errorf("crs %q: got %.2f, want about (500000, 4649776)", code, p)
		}
	}
}

// What each driver says of a filter holds the query it was put into, and no one
// wrote that.
func TestWhereIsToldInOurOwnWords(t *testing.T) {
	one := gpkg(t, 32618, rivers())
	paths := []string{one}
	for driver, ext := range map[string]string{"ESRI Shapefile": "shp", "GeoJSON": "geojson", "FlatGeobuf": "fgb"} {
		paths = append(paths, convert(t, one, driver, ext))
	}
	for _, p := range paths {
		for _, c := range []struct{ where, reason string }{
			{"ordr = 3", `(no column "ordr")`},
			{"order = 3", `("order" is a word of SQL: as a column it stands in double quotes)`},
			{"name IN (", ""}, {"name = 'a' AND", ""}, {"@@", ""}, {"1=1) --", ""}, {"(area_km2 = 1", ""}, {"foo(name) = 1", ""},
			{`name = "Rill"`, `: no field "Rill"`},
		} {
			_, err := Read(t.Context(), Query{Path: p, Where: c.where}, "")
			if err == nil {
				t.Errorf("%s: %q: no error", filepath.Ext(p), c.where)
				continue
			}
			said := err.Error()
			oneCleanLine(t, said)
			if !strings.Contains(said, fmt.Sprintf("where %q is not understood", c.where)) || !strings.Contains(said, c.reason) || !strings.Contains(said, `"name", "order", "area_km2"`) ||
				strings.Contains(said, "SELECT") || strings.Contains(said, "Occurred") {
				t.Errorf("%s: %s", filepath.Ext(p), said)
			}
		}
	}
}

func TestReadWhereAndBounds(t *testing.T) {
	path := gpkg(t, 32618, rivers())
	for _, c := range []struct {
		name string
		q    Query
		want []int64
	}{
		{"all", Query{}, []int64{1, 2, 3}},
		{"where", Query{Where: `"order" >= 0`}, []int64{1, 3}},
		{"null", Query{Where: "area_km2 IS NULL"}, []int64{2}},
		{"bounds", Query{Bounds: &[4]float64{500310, 4600000, 500500, 4600100}}, []int64{3}},
		{"both", Query{Where: "name = 'Rill'", Bounds: &[4]float64{500310, 4600000, 500500, 4600100}}, nil},
		{"touching", Query{Bounds: &[4]float64{499000, 4500000, 500000, 4700000}}, []int64{1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.q.Path = path
			l, err := Read(context.Background(), c.q, "")
			if err != nil {
				t.Fatal(err)
			}
			var got []int64
			for _, f := range l.Features {
				got = append(got, f.FID)
			}
			if d := cmp.Diff(c.want, got); d != "" {
				t.Errorf("FIDs (-want +got):\n%s", d)
			}
			if len(c.want) == 0 && len(l.Warnings) == 0 {
				t.Error("no warning that nothing was found")
			}
		})
	}
}

func TestReadBoundsInTargetCRS(t *testing.T) {
	path := gpkg(t, 32618, rivers())
	to, err := ToWGS84(mustCRS(t, 32618).WKT)
	if err != nil {
		t.Fatal(err)
	}
	b, err := to.Bounds([4]float64{500310, 4600000, 500500, 4600100})
	if err != nil {
		t.Fatal(err)
	}
	l, err := Read(context.Background(), Query{Path: path, Bounds: &b}, mustCRS(t, 4326).WKT)
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Features) != 1 || l.Features[0].FID != 3 {
		t.Errorf("%d features, want only FID 3", len(l.Features))
	}
}

func TestReadNamesTheFeatureThatCannotBeTransformed(t *testing.T) {
	path := write(t, "a.geojson", `{"type":"FeatureCollection","features":[
{"type":"Feature","id":3,"properties":{},"geometry":{"type":"Point","coordinates":[-75,42]}},
{"type":"Feature","id":4,"properties":{},"geometry":{"type":"Point","coordinates":[-75,4200]}}]}`)
	_, err := Read(context.Background(), Query{Path: path}, mustCRS(t, 32618).WKT)
	if err == nil || !strings.Contains(err.Error(), "FID 4") || !strings.Contains(err.Error(), "4200") {
		t.Errorf("error %v, want one that names FID 4 and its latitude", err)
	}
}

func TestReadStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, Query{Path: gpkg(t, 32618, rivers())}, ""); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want context.Canceled", err)
	}
}

func TestReadLeavesOutCoordinatesThatAreNotNumbers(t *testing.T) {
	path := convert(t, gpkg(t, 32618, rivers()), "ESRI Shapefile", "shp")
	b := readFile(t, path)
	// A shape file keeps coordinates as little-endian doubles.
	at := func(v float64) []byte { return binary.LittleEndian.AppendUint64(nil, math.Float64bits(v)) }
	broken := bytes.ReplaceAll(b, at(500400), at(math.NaN()))
	if bytes.Equal(b, broken) {
		t.Fatal("the coordinate is not in the file")
	}
	if err := os.WriteFile(path, broken, 0o644); err != nil {
		t.Fatal(err)
	}
	l, err := Read(context.Background(), Query{Path: path}, mustCRS(t, 4326).WKT)
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Features) != 2 || !strings.Contains(strings.Join(l.Warnings, "\n"), "1 feature (FID 2) with coordinates that are not numbers left out") {
		t.Errorf("%d features, warnings %q", len(l.Features), l.Warnings)
	}
}

func TestReadPassesOnGDALsWarnings(t *testing.T) {
	path := write(t, "a.geojson", `{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,1]]]}`)
	l, err := Read(context.Background(), Query{Path: path, CRS: "EPSG:4269"}, "")
	if err != nil {
		t.Fatal(err)
	}
	w := strings.Join(l.Warnings, "\n")
	for _, want := range []string{`a.geojson": Non closed ring detected`, `is in "WGS 84" by its own account; read as "NAD83" as asked`} {
		if !strings.Contains(w, want) {
			t.Errorf("warnings %q, want %q", w, want)
		}
	}
}

func TestReadTellsMetresInGeoJSON(t *testing.T) {
	path := write(t, "a.geojson", `{"type":"Point","coordinates":[500000,4600000]}`)
	_, err := Read(context.Background(), Query{Path: path}, mustCRS(t, 32618).WKT)
	if err == nil || !strings.Contains(err.Error(), "these are not degrees: name the crs") {
		t.Errorf("error %v", err)
	}
	if _, err := Read(context.Background(), Query{Path: path, CRS: "EPSG:32618"}, mustCRS(t, 32618).WKT); err != nil {
		t.Errorf("with its crs named: %v", err)
	}
}

func BenchmarkRead(b *testing.B) {
	l := OutLayer{Name: "many", Geometry: "LineString", Fields: []FieldInfo{{"n", "Integer64"}, {"s", "String"}}}
	for i := range 50000 {
		line := make(orb.LineString, 20)
		for j := range line {
			line[j] = orb.Point{500000 + float64(i%250)*20 + float64(j), 4600000 + float64(i/250)*20 + float64(j*j%7)}
		}
		l.Features = append(l.Features, Feature{Geometry: line, Values: []Value{IntValue(int64(i)), TextValue("a name")}})
	}
	path := gpkg(b, 32618, l)
	to := mustCRS(b, 5070).WKT
	for b.Loop() {
		if _, err := Read(context.Background(), Query{Path: path, Fields: []string{"n", "s"}}, to); err != nil {
			b.Fatal(err)
		}
	}
}
