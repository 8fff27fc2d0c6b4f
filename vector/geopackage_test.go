package vector

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func TestGeoPackageRoundTrip(t *testing.T) {
	square := orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}, {{4, 4}, {4, 6}, {6, 6}, {6, 4}, {4, 4}}}
	layers := []OutLayer{
		rivers(),
		{Name: "patches", Geometry: "MultiPolygon", Fields: []FieldInfo{{"rank", "Integer64"}},
			Features: []Feature{{Geometry: square, Values: []Value{IntValue(1)}}, {Geometry: orb.MultiPolygon{square}, Values: []Value{IntValue(2)}}}},
		{Name: "gates", Geometry: "Point", Features: []Feature{{Geometry: orb.Point{1, 2}}}},
		{Name: "notes", Fields: []FieldInfo{{"text", "String"}}, Features: []Feature{{Values: []Value{TextValue("größer — 冬")}}}},
	}
	path := gpkg(t, 32618, layers...)
	quiet(t, path)
	for _, want := range layers {
		var fields []string
		for _, f := range want.Fields {
			fields = append(fields, f.Name)
		}
		got, err := Read(t.Context(), Query{Path: path, Layer: want.Name, Fields: fields}, "")
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want.Fields, got.Fields, cmp.Transformer("empty", func(f []FieldInfo) []FieldInfo { return append([]FieldInfo{}, f...) })); d != "" {
			t.Errorf("%s: fields (-want +got):\n%s", want.Name, d)
		}
		if want.Geometry != "" && got.EPSG != 32618 {
			t.Errorf("%s: EPSG %d", want.Name, got.EPSG)
		}
		if len(got.Warnings) > 0 || len(got.Features) != len(want.Features) {
			t.Fatalf("%s: %d features, warnings %v", want.Name, len(got.Features), got.Warnings)
		}
		for i, f := range got.Features {
			w := want.Features[i]
			if f.FID != int64(i+1) || !orb.Equal(f.Geometry, promote(w.Geometry, want.Geometry)) {
				t.Errorf("%s: feature %d: %+v", want.Name, i, f)
			}
			for j, v := range f.Values {
				if v != w.Values[j] {
					t.Errorf("%s: feature %d: value %d is %+v, want %+v", want.Name, i, j, v, w.Values[j])
				}
			}
		}
	}
}

func TestGeoPackageBytesDependOnContentOnly(t *testing.T) {
	a, b := readFile(t, gpkg(t, 32618, rivers())), readFile(t, gpkg(t, 32618, rivers()))
	if !bytes.Equal(a, b) {
		t.Error("two files of the same layers differ")
	}
}

func TestGeoPackageRefuses(t *testing.T) {
	dir := t.TempDir()
	ok := rivers()
	with := func(change func(*OutLayer)) []OutLayer {
		l := rivers()
		change(&l)
		return []OutLayer{l}
	}
	for _, c := range []struct {
		name, file, wkt, want string
		layers                []OutLayer
	}{
		{"ending", "a.sqlite", "", ".gpkg", nil},
		{"crs", "a.gpkg", "nonsense", "nonsense", []OutLayer{ok}},
		{"folder", "none/a.gpkg", "", "none", []OutLayer{ok}},
		{"name", "a.gpkg", "", "wants a name", with(func(l *OutLayer) { l.Name = "" })},
		{"kind", "a.gpkg", "", "simple kinds", with(func(l *OutLayer) { l.Geometry = "Curve" })},
		{"other geometry", "a.gpkg", "", "Point where", with(func(l *OutLayer) { l.Features[1].Geometry = orb.Point{} })},
		{"field type", "a.gpkg", "", `type "Date"`, with(func(l *OutLayer) { l.Fields[0].Type = "Date" })},
		{"field twice", "a.gpkg", "", "used twice", with(func(l *OutLayer) { l.Fields[1].Name = "NAME" })},
		{"field fid", "a.gpkg", "", "taken", with(func(l *OutLayer) { l.Fields[1].Name = "fid" })},
		{"values", "a.gpkg", "", "2 values for 3 fields", with(func(l *OutLayer) { l.Features[1].Values = l.Features[1].Values[:2] })},
		{"zero byte", "a.gpkg", "", "zero byte", with(func(l *OutLayer) { l.Features[1].Values[0] = TextValue("a\x00b") })},
		{"layer twice", "a.gpkg", "", "rivers", []OutLayer{ok, ok}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.wkt == "" {
				c.wkt = mustCRS(t, 32618).WKT
			}
			err := WriteGeoPackage(filepath.Join(dir, c.file), c.wkt, c.layers)
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v, want one line with %q", err, c.want)
			}
			if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
				t.Errorf("left behind: %v, %v", left, err)
			}
		})
	}
}

func TestDescribe(t *testing.T) {
	path := gpkg(t, 32618, rivers())
	got, err := Describe(path, "RIVERS", "")
	if err != nil {
		t.Fatal(err)
	}
	got.WKT = ""
	want := Info{
		Path: path, Driver: "GPKG", Layer: "rivers", Layers: []string{"rivers"}, EPSG: 32618, CRSName: "WGS 84 / UTM zone 18N",
		Geometry: "Multi Line String", Count: 3, Fields: rivers().Fields, Extent: [4]float64{500000, 4600000, 500400, 4600100},
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("info (-want +got):\n%s", d)
	}
	other, err := Describe(path, "", "EPSG:26918")
	if err != nil || other.EPSG != 26918 {
		t.Errorf("with another crs: EPSG %d, %v", other.EPSG, err)
	}
}
