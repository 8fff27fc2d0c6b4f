package vector

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func encoded(t testing.TB, c Collection) string {
	t.Helper()
	var b bytes.Buffer
	if err := EncodeGeoJSON(&b, c); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func one(g orb.Geometry) Collection { return Collection{Features: []GeoFeature{{Geometry: g}}} }

func TestGeoJSONText(t *testing.T) {
	got := encoded(t, Collection{
		Members: []Property{{"title", "bottoms & banks"}, {"run", []Property{{"z", 1}, {"a", []any{nil, true, -0.5}}}}},
		Features: []GeoFeature{
			{ID: 1, Geometry: orb.Point{-75.123456789, 42}, Properties: []Property{
				{"rank", 1}, {"name", "a \"b\" <c>"}, {"nan", math.NaN()}, {"inf", math.Inf(-1)}, {"none", nil},
				{"f32", float32(0.1)}, {"tiny", 1e-9}, {"minus", math.Copysign(0, -1)}, {"null", Value{}}, {"text", TextValue("x")}, {"whole", IntValue(7)}, {"list", []string{"p", "q"}},
			}},
			{ID: "b", Geometry: nil},
			{Geometry: orb.LineString{{-75, 42}, {-75.00000001, 42.00000001}, {-74.5, 41.5}}},
		},
	})
	want := `{"type":"FeatureCollection","bbox":[-75.1234568,41.5,-74.5,42],
"title":"bottoms & banks",
"run":{"z":1,"a":[null,true,-0.5]},
"features":[
{"type":"Feature","id":1,"bbox":[-75.1234568,42,-75.1234568,42],"geometry":{"type":"Point","coordinates":[-75.1234568,42]},"properties":{"rank":1,"name":"a \"b\" <c>","nan":null,"inf":null,"none":null,"f32":0.1,"tiny":1e-09,"minus":0,"null":null,"text":"x","whole":7,"list":["p","q"]}},
{"type":"Feature","id":"b","geometry":null,"properties":{}},
{"type":"Feature","bbox":[-75,41.5,-74.5,42],"geometry":{"type":"LineString","coordinates":[[-75,42],[-74.5,41.5]]},"properties":{}}
]}
`
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("text (-want +got):\n%s", d)
	}
	if empty := encoded(t, Collection{}); empty != "{\"type\":\"FeatureCollection\",\n\"features\":[\n]}\n" {
		t.Errorf("empty collection: %q", empty)
	}
}

// TestGeoJSONWinding takes its case from RFC 7946 (see the source in the file).
func TestGeoJSONWinding(t *testing.T) {
	var c struct {
		Exterior orb.Ring   `json:"exterior_ccw"`
		Hole     orb.Ring   `json:"hole_cw"`
		BBox     [4]float64 `json:"bbox"`
		Across   [4]float64 `json:"antimeridian_bbox_example"`
	}
	if err := json.Unmarshal(readFile(t, filepath.Join("..", "fixtures", "cases", "geojson_winding.json")), &c); err != nil {
		t.Fatal(err)
	}
	reversed := func(r orb.Ring) orb.Ring {
		r = r.Clone()
		slices.Reverse(r)
		return r
	}
	want := ""
	for _, outer := range []orb.Ring{c.Exterior, reversed(c.Exterior)} {
		for _, hole := range []orb.Ring{c.Hole, reversed(c.Hole)} {
			doc := parse(t, encoded(t, one(orb.Polygon{outer, hole})))
			if doc.BBox != c.BBox || doc.Features[0].BBox != c.BBox {
				t.Errorf("bbox %v and %v, want %v", doc.BBox, doc.Features[0].BBox, c.BBox)
			}
			var rings []orb.Ring
			if err := json.Unmarshal(doc.Features[0].Geometry.Coordinates, &rings); err != nil {
				t.Fatal(err)
			}
			if rings[0].Orientation() != orb.CCW || rings[1].Orientation() != orb.CW {
				t.Errorf("outer ring %v, hole %v", rings[0].Orientation(), rings[1].Orientation())
			}
			if want == "" {
				want = string(doc.Features[0].Geometry.Coordinates)
				if d := cmp.Diff([]orb.Ring{c.Exterior, c.Hole}, rings); d != "" {
					t.Errorf("rings wound well already were changed:\n%s", d)
				}
			}
		}
	}
	// Section 5.2: two sides of the antimeridian.
	fiji := orb.MultiPoint{{c.Across[0], c.Across[1]}, {c.Across[2], c.Across[3]}, {179, -18}}
	if got := parse(t, encoded(t, one(fiji))).BBox; got != c.Across {
		t.Errorf("bbox across the antimeridian %v, want %v", got, c.Across)
	}
	if got := parse(t, encoded(t, one(orb.MultiPoint{{-100, 0}, {0, 0}, {100, 0}}))).BBox; got != [4]float64{-100, 0, 100, 0} {
		t.Errorf("bbox of a wide layer %v", got)
	}
}

func TestGeoJSONRefuses(t *testing.T) {
	square := orb.Ring{{0, 0}, {1, 0}, {1, 1}, {0, 1}, {0, 0}}
	for _, c := range []struct {
		name string
		c    Collection
		want string
	}{
		{"easting", one(orb.Point{500000, 4600000}), "not longitude and latitude"},
		{"not a number", one(orb.Point{math.NaN(), 0}), "not longitude and latitude"},
		{"short ring", one(orb.Polygon{{{0, 0}, {1, 1}, {0, 0}}}), "fewer than 4"},
		{"ring gone in rounding", one(orb.Polygon{{{0, 0}, {1e-9, 0}, {1e-9, 1e-9}, {0, 0}}}), "fewer than 4"},
		{"hole gone in rounding", one(orb.Polygon{square, {{.5, .5}, {.5 + 1e-9, .5}, {.5, .5 + 1e-9}, {.5, .5}}}), "fewer than 4"},
		{"flat ring", one(orb.Polygon{{{0, 0}, {1, 1}, {2, 2}, {0, 0}}}), "no area"},
		{"no ring", one(orb.Polygon{}), "no ring"},
		{"line gone in rounding", one(orb.LineString{{0, 0}, {1e-9, 0}}), "fewer than 2"},
		{"id", Collection{Features: []GeoFeature{{ID: 1.5}}}, "id is a float64"},
		{"property twice", Collection{Features: []GeoFeature{{Properties: []Property{{"a", 1}, {"a", 2}}}}}, `"a": name used twice`},
		{"property of no kind", Collection{Features: []GeoFeature{{Properties: []Property{{"a", func() {}}}}}}, `property "a"`},
		{"member taken", Collection{Members: []Property{{"features", 1}}}, `"features": name taken`},
		{"member twice", Collection{Members: []Property{{"a", 1}, {"a", 1}}}, `"a": name taken`},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := EncodeGeoJSON(io.Discard, c.c)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
}

func TestWriteGeoJSONIsReadWithoutAWord(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.geojson")
	c := Collection{Members: []Property{{"title", "t"}}, Features: []GeoFeature{
		{ID: 5, Geometry: orb.MultiPolygon{{{{-75, 42}, {-74, 42}, {-74, 43}, {-75, 42}}}}, Properties: []Property{{"rank", 1}, {"score", 0.25}}},
		{ID: 6, Geometry: orb.Polygon{{{-76, 42}, {-75, 42}, {-75, 43}, {-76, 42}}}, Properties: []Property{{"rank", 2}, {"score", nil}}},
	}}
	if err := WriteGeoJSON(path, c); err != nil {
		t.Fatal(err)
	}
	quiet(t, path)
	l, err := Read(t.Context(), Query{Path: path, Fields: []string{"rank", "score"}}, "")
	if err != nil {
		t.Fatal(err)
	}
	if len(l.Warnings) > 0 || len(l.Features) != 2 || l.Features[0].FID != 5 || !l.Features[1].Values[1].IsNull() || l.EPSG != 4326 {
		t.Errorf("read back: %+v", l)
	}
	if !orb.Equal(l.Features[0].Geometry, c.Features[0].Geometry) {
		t.Errorf("geometry read back: %v", l.Features[0].Geometry)
	}
}

// quiet demands that ogrinfo reads the whole file without a warning or error.
func quiet(t *testing.T, path string) {
	t.Helper()
	tool, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("ogrinfo is not installed")
	}
	var stderr bytes.Buffer
	cmd := command(tool, "-ro", "-al", path)
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil || stderr.Len() > 0 || strings.Contains(string(out), "Warning") {
		t.Errorf("ogrinfo: %v\n%s%s", err, stderr.String(), out)
	}
}

func TestWriteBesideLeavesNothingAfterAnError(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.txt")
	if err := WriteBeside(path, func(w io.Writer) error { _, err := io.WriteString(w, "old"); return err }); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	err := WriteBeside(path, func(w io.Writer) error { io.WriteString(w, "new"); return broken })
	if !errors.Is(err, broken) || !strings.Contains(err.Error(), "a.txt") {
		t.Errorf("error %v", err)
	}
	names, err := os.ReadDir(dir)
	if err != nil || len(names) != 1 || string(readFile(t, path)) != "old" {
		t.Errorf("folder %v, %v, content %q", names, err, readFile(t, path))
	}
	if err := WriteBeside(filepath.Join(dir, "none", "a.txt"), func(io.Writer) error { return nil }); err == nil {
		t.Error("missing folder: no error")
	}
}

type document struct {
	BBox     [4]float64
	Features []struct {
		BBox     [4]float64
		Geometry *struct {
			Type        string
			Coordinates json.RawMessage
		}
		Properties map[string]any
	}
}

func parse(t testing.TB, text string) document {
	t.Helper()
	var d document
	if err := json.Unmarshal([]byte(text), &d); err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return d
}

// What the writer accepts must be JSON by the rules it promises, whatever the
// ring, name and number.
func FuzzGeoJSON(f *testing.F) {
	f.Add(-75.0, 42.0, 1.0, -1.0, "rank", "a", 0.5)
	f.Add(179.99999999, -90.0, 1e-8, 2e-7, "\xff", "\u2028<", math.Inf(1))
	f.Add(0.0, 0.0, -1e-7, 1e-7, "", "\x00", math.Copysign(0, -1))
	f.Fuzz(func(t *testing.T, x, y, w, h float64, key, text string, number float64) {
		ring := orb.Ring{{x, y}, {x + w, y}, {x + w/2, y + h/3}, {x + w, y + h}, {x, y + h}, {x, y}}
		var b bytes.Buffer
		c := Collection{Features: []GeoFeature{{ID: text, Geometry: orb.Polygon{ring}, Properties: []Property{{key, text}, {key + "n", number}}}}}
		if err := EncodeGeoJSON(&b, c); err != nil {
			return
		}
		if bytes.Contains(b.Bytes(), []byte("[-0,")) || bytes.Contains(b.Bytes(), []byte(",-0]")) {
			t.Fatalf("minus zero in %s", b.Bytes())
		}
		got := parse(t, b.String()).Features[0]
		var rings []orb.Ring
		if got.Geometry.Type == "MultiPolygon" { // cut at the antimeridian
			var parts [][]orb.Ring
			if err := json.Unmarshal(got.Geometry.Coordinates, &parts); err != nil {
				t.Fatal(err)
			}
			for _, p := range parts {
				for i := 1; i < len(p[0]); i++ {
					if math.Abs(p[0][i][0]-p[0][i-1][0]) > 180 {
						t.Fatalf("part %v still crosses the antimeridian", p[0])
					}
				}
			}
			return
		}
		if err := json.Unmarshal(got.Geometry.Coordinates, &rings); err != nil {
			t.Fatal(err)
		}
		r := rings[0]
		if len(r) < 4 || r[0] != r[len(r)-1] {
			t.Fatalf("ring %v is short or open", r)
		}
		area := 0.0
		for i := 1; i < len(r); i++ {
			if r[i] == r[i-1] {
				t.Fatalf("position repeated in %v", r)
			}
			area += (r[i-1][0]-r[0][0])*(r[i][1]-r[0][1]) - (r[i][0]-r[0][0])*(r[i-1][1]-r[0][1])
		}
		if area < -1e-18 {
			t.Fatalf("ring %v runs clockwise", r)
		}
		for _, p := range r {
			for k := range 2 {
				if p[k] != math.Round(p[k]*1e7)/1e7 {
					t.Fatalf("%v has more than 7 decimals", p)
				}
				if p[k] < got.BBox[k] || p[k] > got.BBox[k+2] {
					t.Fatalf("%v is outside the bbox %v", p, got.BBox)
				}
			}
		}
		if n, ok := got.Properties[strings.ToValidUTF8(key+"n", "\uFFFD")].(float64); ok && n != number {
			t.Fatalf("number %g came back as %g", number, n)
		}
	})
}
