package vector

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// kindsOfLayer is one layer of each kind: a good feature, one without geometry
// and one with the easting 500400, which can be found in a file and broken.
func kindsOfLayer() map[Kind]OutLayer {
	layer := func(geometry string, good, bad orb.Geometry) OutLayer {
		return OutLayer{Name: "made", Geometry: geometry, Features: []Feature{{Geometry: good}, {}, {Geometry: bad}}}
	}
	return map[Kind]OutLayer{
		Points: layer("Point", orb.Point{500000, 4600000}, orb.Point{500400, 4600000}),
		Lines:  layer("LineString", orb.LineString{{500000, 4600000}, {500100, 4600000}}, orb.LineString{{500000, 4600000}, {500400, 4600000}}),
		Polygons: layer("Polygon", orb.Polygon{box(500000, 4600000, 500100, 4600100)},
			orb.Polygon{{{500000, 4600000}, {500400, 4600000}, {500000, 4600100}, {500000, 4600000}}}),
	}
}

func TestReadLeavesOutAndCountsOfEachKind(t *testing.T) {
	at := func(v float64) []byte { return binary.LittleEndian.AppendUint64(nil, math.Float64bits(v)) }
	for kind, l := range kindsOfLayer() {
		shp := convert(t, gpkg(t, 32618, l), "ESRI Shapefile", "shp")
		whole := readFile(t, shp)
		for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
			t.Run(fmt.Sprintf("%v %g", kind, v), func(t *testing.T) {
				// The box in the header stays as it was: it must not decide.
				broken := append(bytes.Clone(whole[:100]), bytes.ReplaceAll(whole[100:], at(500400), at(v))...)
				if bytes.Equal(broken, whole) {
					t.Fatal("the coordinate is not in the file")
				}
				if err := os.WriteFile(shp, broken, 0o644); err != nil {
					t.Fatal(err)
				}
				for _, target := range []string{"", mustCRS(t, 4326).WKT} {
					got, err := Read(t.Context(), Query{Path: shp, Kind: kind}, target)
					if err != nil {
						t.Fatal(err)
					}
					want := "1 feature (FID 1) without geometry left out\n1 feature (FID 2) with coordinates that are not numbers left out\n"
					if kind == Points && math.IsNaN(v) { // how a shape file writes an empty point
						want = "2 features (FID 1, 2) without geometry left out\n"
					}
					var said strings.Builder
					for _, w := range got.Warnings {
						said.WriteString(strings.TrimPrefix(w, fmt.Sprintf("%q: layer \"made\": ", shp)) + "\n")
					}
					if len(got.Features) != 1 || got.Features[0].FID != 0 || said.String() != want {
						t.Errorf("%d features, warnings %q, want %q", len(got.Features), said.String(), want)
					}
				}
			})
		}
	}
}

func TestReadEmptyLayerOfEachKind(t *testing.T) {
	for kind, l := range kindsOfLayer() {
		l.Features = nil
		path := gpkg(t, 32618, l)
		for _, k := range []Kind{Any, kind} {
			_, err := Read(t.Context(), Query{Path: path, Kind: k, Bounds: &[4]float64{0, 0, 1, 1}}, "")
			if !errors.Is(err, ErrEmpty) {
				t.Errorf("%v asked for as %v: error %v, want %v", kind, k, err, ErrEmpty)
			}
		}
		// Only features without geometry: nothing to read, and said.
		l.Features = []Feature{{}, {}}
		got, err := Read(t.Context(), Query{Path: gpkg(t, 32618, l), Kind: kind}, "")
		if err != nil || len(got.Features) != 0 || !strings.Contains(strings.Join(got.Warnings, "\n"), "2 features (FID 1, 2) without geometry") {
			t.Errorf("%v: %d features, %q, %v", kind, len(got.Features), got.Warnings, err)
		}
	}
}

// Names and values with quotes and control characters are kept as they are, and
// never reach a message raw.
func TestReadKeepsHostileTextAndSaysItClean(t *testing.T) {
	const name, column, text = "odd \"layer'; -- \x1b[31m\nnew\u202eline", "col\x07umn\r\n", "red\x1b[31m\n\a" + "\u202e"
	l := OutLayer{Name: name, Geometry: "MultiPolygon", Fields: []FieldInfo{{column, "String"}}, Features: []Feature{
		{Geometry: orb.Polygon{box(0, 0, 10, 10)}, Values: []Value{TextValue(text)}},
		{Geometry: orb.Polygon{{{0, 0}, {10, 10}, {10, 0}, {0, 10}, {0, 0}}}, Values: []Value{TextValue("")}},
		{Values: []Value{{}}},
	}}
	path := gpkg(t, 32618, l, OutLayer{Name: "second", Geometry: "Point"})
	got, err := Read(t.Context(), Query{Path: path, Layer: name, Fields: []string{column}, Kind: Polygons}, "")
	if err != nil {
		t.Fatal(err)
	}
	if got.Info.Layer != name || got.Fields[0].Name != column {
		t.Errorf("layer %q, column %q", got.Info.Layer, got.Fields[0].Name)
	}
	if d := cmp.Diff(text, got.Features[0].Values[0].String()); d != "" {
		t.Errorf("value (-want +got):\n%s", d)
	}
	if len(got.Warnings) != 2 {
		t.Errorf("warnings %q", got.Warnings)
	}
	for _, w := range got.Warnings {
		oneCleanLine(t, w)
	}
	for _, q := range []Query{
		{Path: path},
		{Path: path, Layer: "\x1b[2J"},
		{Path: path, Layer: name, Fields: []string{"no\x1bne"}},
		{Path: path, Layer: name, Kind: Points},
		{Path: path, Layer: name, Where: "\x1b[31m = '\n'"},
		{Path: path, Layer: name, Where: "\"\x1b[31m\" = 1"},
		{Path: path, Layer: name, CRS: "EPSG:\x1b1"},
		{Path: path, Layer: name, Bounds: &[4]float64{1, 1, 0, 0}},
		{Path: path + "\x1b[31m.gpkg", Layer: name},
	} {
		if _, err := Read(t.Context(), q, ""); err == nil {
			t.Errorf("%+v: no error", q)
		} else {
			oneCleanLine(t, err.Error())
		}
	}
}

func TestOneLine(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"plain text", "plain text"},
		{" two\n\tlines ", "two lines"},
		{"bell\a and \x1b[31mred", "bell\uFFFD and \uFFFD[31mred"},
		{"bad \xff utf-8", "bad \uFFFD utf-8"},
		{"turned \u202eround", "turned \uFFFDround"},
		{"Übersee, 日本", "Übersee, 日本"},
	} {
		if got := oneLine(c.in); got != c.want {
			t.Errorf("%q: got %q, want %q", c.in, got, c.want)
		}
	}
}
