package evidence

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

func TestSoilPolygons(t *testing.T) {
	f := utm(t, 4, 3)
	q := layer(t, f, "Polygon", []string{"MUKEY", "FlodFreqDcd", "drclassdcd"},
		shape{box(0, 0, 4, 1), []any{"1", "Frequent", "Poorly drained"}},
		shape{box(0, 1, 2, 3), []any{"2", "NONE ", nil}},
		shape{box(1, 0, 2, 2), []any{"3", "occasional", ""}},
	)
	items, warnings := read(t, Source{Name: "soil survey", Query: q, Table: builtin(t, "soils")}, f)
	if len(warnings) > 0 {
		t.Errorf("warnings %q", warnings)
	}
	if len(items) != 2 || items[0].Field != "flooding" || items[0].Column != "FlodFreqDcd" || items[1].Field != "drainage" || items[0].Layer != "soil survey" {
		t.Fatalf("items %+v", items)
	}
	want := []string{
		"None", "None", "", "",
		"None", "Occasional", "", "",
		"Frequent", "Occasional", "Frequent", "Frequent",
	}
	if d := cmp.Diff(want, spoken(t, items[0])); d != "" {
		t.Errorf("flooding (-want +got):\n%s", d)
	}
	if d := cmp.Diff(map[string]int64{"None": 3, "Occasional": 2, "Frequent": 3}, counts(items[0])); d != "" {
		t.Errorf("flooding cells (-want +got):\n%s", d)
	}
	// The third polygon says nothing on drainage and leaves the first's word.
	if d := cmp.Diff(map[string]int64{"Poorly drained": 4}, counts(items[1])); d != "" {
		t.Errorf("drainage cells (-want +got):\n%s", d)
	}
	plane, stats, err := CombinePlanes(t.Context(), items, Rule{Temper: 0.5, Cap: 3, Certainty: 3}, f, nil, 1)
	if err != nil {
		t.Fatal(err)
	}
	// Frequent 2, poorly drained 0.5: 2 + ½·0.5 = 36 steps; occasional over it the same; None −1.5.
	if got := cellsOf(t, plane); !slices.Equal(got, []int8{-24, -24, 0, 0, -24, 32, 0, 0, 36, 36, 36, 36}) {
		t.Errorf("shifts %v", got)
	}
	if want := (Stats{Up: 5, Down: 3, Min: -1.5, Max: 2.25}); stats != want {
		t.Errorf("stats %+v, want %+v", stats, want)
	}
}

func TestFloodZonePolygons(t *testing.T) {
	f := utm(t, 4, 1)
	q := layer(t, f, "MultiPolygon", []string{"FLD_ZONE", "ZONE_SUBTY", "SFHA_TF"},
		shape{box(0, 0, 2, 1), []any{"AE", "FLOODWAY", "T"}},
		shape{box(1, 0, 4, 1), []any{"X", "0500", "F"}},
		shape{orb.MultiPolygon{box(3, 0, 4, 1), box(9, 9, 10, 10)}, []any{"X", " ", "F"}},
	)
	items, warnings := read(t, Source{Name: "zones", Query: q, Table: builtin(t, "flood-zones")}, f)
	if len(warnings) > 0 {
		t.Errorf("warnings %q", warnings)
	}
	if len(items) != 2 || items[0].Column != "FLD_ZONE" || items[1].Column != "ZONE_SUBTY" {
		t.Fatalf("items %+v", items)
	}
	// X is worth nothing, so it does not take the ground of AE.
	if got := spoken(t, items[0]); !slices.Equal(got, []string{"AE", "AE", "X", "X"}) {
		t.Errorf("zones %q", got)
	}
	if got := spoken(t, items[1]); !slices.Equal(got, []string{"FLOODWAY", "0500", "0500", "0500"}) {
		t.Errorf("subtypes %q", got)
	}
	only := layer(t, f, "Polygon", []string{"sfha_tf"}, shape{box(0, 0, 1, 1), []any{"T"}}, shape{box(1, 0, 2, 1), []any{"F"}})
	items, _ = read(t, Source{Name: "zones", Query: only, Table: builtin(t, "flood-zones")}, f)
	if len(items) != 1 || !slices.Equal(spoken(t, items[0]), []string{"T", "F", "", ""}) {
		t.Errorf("layer with SFHA_TF alone: %+v", items)
	}
}

func TestDrawnPolygons(t *testing.T) {
	f := utm(t, 3, 1)
	bare := layer(t, f, "Polygon", []string{"note"}, shape{box(0, 0, 2, 1), []any{"old oxbow"}})
	items, warnings := read(t, Source{Name: "mine", Query: bare, Table: builtin(t, "inside")}, f)
	if len(warnings) > 0 || !slices.Equal(spoken(t, items[0]), []string{"yes", "yes", ""}) {
		t.Errorf("without a column: %q, warnings %q", spoken(t, items[0]), warnings)
	}
	marked := layer(t, f, "Polygon", []string{"Inside"}, shape{box(0, 0, 1, 1), []any{"1"}}, shape{box(1, 0, 2, 1), []any{"No"}}, shape{box(2, 0, 3, 1), []any{nil}})
	items, _ = read(t, Source{Name: "mine", Query: marked, Table: builtin(t, "inside")}, f)
	if got := spoken(t, items[0]); !slices.Equal(got, []string{"1", "no", ""}) {
		t.Errorf("with a column: %q", got)
	}
}

// Columns by name, and cut as a Shapefile cuts them.
func TestOwnTableAndColumns(t *testing.T) {
	f := utm(t, 3, 1)
	table := mustTable(t, header+"\nflooding,often,1,,\nlandform,flood plain,2,,\nlandform,*terrace,-0.5,,\n")
	q := layer(t, f, "Polygon", []string{"flodfreqdc", "geomfname"}, shape{box(0, 0, 1, 1), []any{"Often", "floodplain"}}, shape{box(1, 0, 3, 1), []any{"seldom", "stream terrace"}})
	items, warnings := read(t, Source{Name: "own", Query: q, Table: table, Fields: map[string]string{"landform": "GEOMFNAME"}}, f)
	if len(items) != 2 || items[0].Column != "flodfreqdc" || items[1].Column != "geomfname" {
		t.Fatalf("items %+v", items)
	}
	if got := spoken(t, items[1]); !slices.Equal(got, []string{"flood plain", "*terrace", "*terrace"}) {
		t.Errorf("landform %q", got)
	}
	if items[1].Classes[0].Meaning != "flood plain" {
		t.Errorf("meaning %q, want the value where there is none", items[1].Classes[0].Meaning)
	}
	if want := []string{`evidence "own": value flooding "seldom" (1 feature) not in the table "own.csv"; taken as neutral`}; !slices.Equal(warnings, want) {
		t.Errorf("warnings %q, want %q", warnings, want)
	}
}

func TestUnknownValues(t *testing.T) {
	f := utm(t, 8, 1)
	var shapes []shape
	for i := range 8 {
		shapes = append(shapes, shape{box(float64(i), 0, float64(i)+1, 1), []any{[]string{"?a", "?b", "?a", "?c", "?d", "?e", "?f", "AE"}[i]}})
	}
	src := Source{Name: "zones", Query: layer(t, f, "Polygon", []string{"FLD_ZONE"}, shapes...), Table: builtin(t, "flood-zones")}
	items, warnings := read(t, src, f)
	want := `evidence "zones": values zone "?a" (2 features), zone "?b" (1 feature), zone "?c" (1 feature), zone "?d" (1 feature), zone "?e" (1 feature), and 1 more not in the table "flood-zones"; taken as neutral`
	if !slices.Equal(warnings, []string{want}) {
		t.Errorf("warnings %q, want one: %s", warnings, want)
	}
	if d := cmp.Diff(map[string]int64{"AE": 1}, counts(items[0])); d != "" {
		t.Errorf("cells (-want +got):\n%s", d)
	}
	src.Unknown = UnknownStop
	if _, _, err := Read(t.Context(), src, f, nil, 1); err == nil || !strings.Contains(err.Error(), `"?a" (2 features)`) || !strings.HasSuffix(err.Error(), "set unknown: neutral") {
		t.Errorf("with stop: error %v", err)
	}
}

func TestNeutralLayers(t *testing.T) {
	f := utm(t, 2, 2)
	for name, q := range map[string]vector.Query{
		"outside the map": layer(t, f, "Polygon", []string{"FLD_ZONE"}, shape{box(50, 50, 60, 60), []any{"AE"}}),
		"without values":  layer(t, f, "Polygon", []string{"FLD_ZONE"}, shape{box(0, 0, 2, 2), []any{nil}}),
		"empty":           layer(t, f, "Polygon", []string{"FLD_ZONE"}),
	} {
		items, warnings := read(t, Source{Name: "zones", Query: q, Table: builtin(t, "flood-zones")}, f)
		if len(items) != 1 || !slices.Equal(cellsOf(t, items[0].Plane), make([]uint8, 4)) {
			t.Errorf("%s: items %+v", name, items)
		}
		if len(warnings) == 0 || !strings.Contains(warnings[len(warnings)-1], "says nothing anywhere on the map; taken as neutral") {
			t.Errorf("%s: warnings %q", name, warnings)
		}
	}
}

// A GeoJSON without features has no columns: it is neutral all the same.
func TestEmptyGeoJSONIsNeutral(t *testing.T) {
	f := utm(t, 2, 2)
	path := filepath.Join(t.TempDir(), "none.geojson")
	if err := os.WriteFile(path, []byte(`{"type":"FeatureCollection","features":[]}`), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, fields := range []map[string]string{nil, {"zone": "KIND"}} {
		items, warnings := read(t, Source{Name: "zones", Query: vector.Query{Path: path}, Fields: fields, Table: builtin(t, "flood-zones")}, f)
		if len(items) == 0 || !slices.Equal(cellsOf(t, items[0].Plane), make([]uint8, 4)) {
			t.Errorf("items %+v", items)
		}
		if len(warnings) != 1 || !strings.Contains(warnings[0], "says nothing anywhere on the map; taken as neutral") {
			t.Errorf("warnings %q", warnings)
		}
	}
}

// Numbers that are not whole are no codes: a measure was named for a map of classes.
func TestFractionsAreTold(t *testing.T) {
	f := utm(t, 4, 2)
	none := -9999.5
	table := mustTable(t, header+"\nflooding,1,2,frequent,\nflooding,2,1,rare,\n")
	for _, c := range []struct {
		name string
		src  *raster.Source
		want string // in the first warning, "" for none
	}{
		{"a measure", codesTIFF(t, f, []float32{1.25, 2.5, 1, 2, 0.75, -9999.5, float32(math.NaN()), 2}, &none), `evidence "flooding": 3 of 6 cells looked at hold numbers that are not whole`},
		{"whole numbers as floats", codesTIFF(t, f, []float32{1, 2, 1, 2, 2, -9999.5, 1, 2}, &none), ""},
		{"whole numbers", codesTIFF(t, f, []uint16{1, 2, 1, 2, 2, 1, 1, 2}, nil), ""},
	} {
		_, warnings := read(t, Source{Name: "flooding", Raster: c.src, Table: table}, f)
		if told := len(warnings) > 0 && strings.Contains(warnings[0], "not whole"); told != (c.want != "") || told && !strings.Contains(warnings[0], c.want) {
			t.Errorf("%s: warnings %q, want %q", c.name, warnings, c.want)
		}
	}
}

func TestShapesThatAreNoAreas(t *testing.T) {
	f := utm(t, 2, 1)
	line := orb.LineString{{500000, 4000005}, {500020, 4000005}}
	mixed := geoJSON(t, f, "FLD_ZONE", "AE", line, orb.Collection{line, box(0, 0, 1, 1)})
	items, warnings := read(t, Source{Name: "zones", Query: mixed, Table: builtin(t, "flood-zones")}, f)
	if got := spoken(t, items[0]); !slices.Equal(got, []string{"AE", ""}) {
		t.Errorf("cells %q", got)
	}
	if len(warnings) != 1 || !strings.Contains(warnings[0], "1 feature that covers no area left out") {
		t.Errorf("warnings %q", warnings)
	}
	lines := layer(t, f, "LineString", []string{"FLD_ZONE"}, shape{line, []any{"AE"}})
	if _, _, err := Read(t.Context(), Source{Name: "zones", Query: lines, Table: builtin(t, "flood-zones")}, f, nil, 1); err == nil || !strings.Contains(err.Error(), "no polygon among its 1 feature;") {
		t.Errorf("lines only: error %v", err)
	}
}
