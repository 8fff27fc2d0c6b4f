package habitat

import (
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// parse reads a survey given as text, which has to be right.
func parse(t testing.TB, text string) *Survey {
	t.Helper()
	s, err := ParseSurvey("s.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSurveyNeedsOnlyElevation(t *testing.T) {
	got := parse(t, "elevation:\n  path: dem.tif\n")
	want := DefaultSurvey()
	want.File = "s.yaml"
	want.Elevation.Path = []string{"dem.tif"}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("defaults differ (-want +got):\n%s", d)
	}
}

func TestSurveyEveryKey(t *testing.T) {
	got := parse(t, `
name: 2024
area: {path: county.geojson, layer: b, where: "kind = 'county'", crs: EPSG:4326}
frame: {crs: EPSG:26918, cell: 10, collar: 0}
elevation: {path: [a.tif, tiles, "x*.tif"], unit: us-ft, crs: EPSG:2264, nodata: -9999}
streams:
  path: [n.gpkg, s.gpkg]
  layer: flow
  where: "fcode < 50000"
  rules: nhd
  fields: {name: gnis, order: so, area: da, code: fc}
  area_unit: mi2
  threshold_km2: 2
  crs: EPSG:4269
landcover: {path: lc.tif, legend: corine, crs: EPSG:3035, nodata: 128, unknown: neutral}
evidence:
  valley_flatness: true
  soils: {path: s.gpkg, layer: mu, where: "a > 1", crs: EPSG:4269, swap: true, fields: {flooding: ff}, table: soils, unknown: stop}
  flood_zones: {path: f.shp}
  layers:
    - {name: geology, path: g.tif, nodata: 0, table: g.csv}
inventory:
  rasters:
    - {host: american-elm, path: [ba.tif], crs: EPSG:5070, nodata: -1, measure: basal-area, unit: ft2/ac, stem_cm: 25}
  trees: {path: t.csv, crs: EPSG:26918, fields: {species: sp}, diameter_unit: in, min_cm: 12, bandwidth: 80, covers: all, surveyed: {path: t.gpkg}}
  blend: 50
access:
  - {path: p.gpkg, layer: parks, field: acc, values: {"1": open}, name_field: nm}
  - {path: q.gpkg, status: private}
keep_out:
  - {path: r.gpkg, layer: rail, preset: railways, distance: 25, reason: railway}
  - {cover: [crop], distance: 10}
approach: {paths: {path: w.gpkg}, roads: {path: v.gpkg}, parking: {path: u.gpkg}, water: {path: x.gpkg}, off_path: 2, crossing: 500, off_path_most: 900}
profile: own.yaml
curve: pennsylvania
shortlist: {threshold: 0.7, min_ha: 2, max_ha: 20, top: 0, hole_ha: 0, draws: 50, explore: 3}
output: {folder: res, layers: [bottomland, limiting]}
run: {workers: 2, memory: 3 GB, scratch: tmp}
`)
	want := &Survey{
		Name:  "2024",
		Area:  AreaSpec{"county.geojson", "b", "kind = 'county'", "EPSG:4326"},
		Frame: FrameSpec{"EPSG:26918", 10, 0},
		Elevation: ElevationSpec{
			Path: []string{"a.tif", "tiles", "x*.tif"}, Unit: "us-ft", CRS: "EPSG:2264", Nodata: new(-9999.0),
		},
		Streams: StreamSpec{
			Path: []string{"n.gpkg", "s.gpkg"}, Layer: "flow", Where: "fcode < 50000", Rules: "nhd",
			Fields: StreamFields{"gnis", "so", "da", "fc"}, AreaUnit: "mi2", ThresholdKm2: 2, CRS: "EPSG:4269",
		},
		LandCover: LandCoverSpec{[]string{"lc.tif"}, "corine", "EPSG:3035", new(int64(128)), "neutral"},
		Evidence: EvidenceSpec{
			ValleyFlatness: true,
			Soils: EvidenceLayer{LayerSpec: LayerSpec{"s.gpkg", "mu", "a > 1", "EPSG:4269", true},
				Fields: map[string]string{"flooding": "ff"}, Table: "soils", Unknown: "stop"},
			FloodZones: EvidenceLayer{LayerSpec: LayerSpec{Path: "f.shp"}},
			Layers:     []EvidenceLayer{{Name: "geology", LayerSpec: LayerSpec{Path: "g.tif"}, Nodata: new(int64(0)), Table: "g.csv"}},
		},
		Inventory: InventorySpec{
			Rasters: []HostRaster{{"american-elm", []string{"ba.tif"}, "EPSG:5070", new(-1.0), "basal-area", "ft2/ac", 25}},
			Trees: TreeLayer{LayerSpec: LayerSpec{Path: "t.csv", CRS: "EPSG:26918"}, Fields: map[string]string{"species": "sp"},
				DiameterUnit: "in", MinCm: 12, BandwidthM: 80, Covers: []string{"all"}, Surveyed: LayerSpec{Path: "t.gpkg"}},
			BlendM: 50,
		},
		Access: []AccessSpec{
			{LayerSpec: LayerSpec{Path: "p.gpkg", Layer: "parks"}, Field: "acc", Values: map[string]string{"1": "open"}, NameField: "nm"},
			{LayerSpec: LayerSpec{Path: "q.gpkg"}, Status: "private"},
		},
		KeepOut: []KeepOutSpec{
			{LayerSpec: LayerSpec{Path: "r.gpkg", Layer: "rail"}, Preset: "railways", DistanceM: new(25.0), Reason: "railway"},
			{Cover: []string{"crop"}, DistanceM: new(10.0)},
		},
		Approach:  ApproachSpec{LayerSpec{Path: "w.gpkg"}, LayerSpec{Path: "v.gpkg"}, LayerSpec{Path: "u.gpkg"}, LayerSpec{Path: "x.gpkg"}, 2, 500, 900},
		Profile:   "own.yaml",
		Curve:     "pennsylvania",
		Shortlist: ShortlistSpec{0.7, 2, 20, 0, 0, 50, 3},
		Output:    OutputSpec{"res", []string{"bottomland", "limiting"}, true, true},
		Run:       RunSpec{Workers: 2, Memory: 3 << 30, Scratch: "tmp", Cache: "", MostFeatures: 1_000_000, MostPoints: 30_000_000},
		File:      "s.yaml",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("survey differs (-want +got):\n%s", d)
	}
	if !got.WantsLayer("limiting") || got.WantsLayer("height") {
		t.Errorf("wanted layers: limiting %v, height %v", got.WantsLayer("limiting"), got.WantsLayer("height"))
	}
}

// As some editors save it: a byte order mark, returns before newlines,
// brackets left open in remarks.
func TestSurveyFromOtherEditors(t *testing.T) {
	text := "\xef\xbb\xbfelevation:\r\n  path: dem.tif\r\n  unit: ft # [see below\r\nrun:\r\n  workers: 2\r\n" + strings.Repeat("# [{[{\r\n", 50) + strings.Repeat("\r\n # [{", 40)
	s := parse(t, text)
	if s.Elevation.Path[0] != "dem.tif" || s.Elevation.Unit != "ft" || s.Run.Workers != 2 {
		t.Errorf("got %+v, %+v", s.Elevation, s.Run)
	}
}

func TestLoadSurveyJoinsPathsToItsFolder(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "survey.yaml")
	text := "elevation: {path: [dem.tif, /abs/b.tif]}\nlandcover: {path: lc.tif, legend: my.csv}\nprofile: elm-bottoms\noutput: {folder: out}\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := LoadSurvey(file)
	if err != nil {
		t.Fatal(err)
	}
	got := []string{s.Elevation.Path[0], s.Elevation.Path[1], s.LandCover.Path[0], s.LandCover.Legend, s.Profile, s.Output.Folder, s.Run.Scratch}
	want := []string{filepath.Join(dir, "dem.tif"), "/abs/b.tif", filepath.Join(dir, "lc.tif"), filepath.Join(dir, "my.csv"), "elm-bottoms", filepath.Join(dir, "out"), ""}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("paths differ (-want +got):\n%s", d)
	}
}

func TestSurveyMistakes(t *testing.T) {
	const e = "elevation: {path: a.tif}\n"
	for _, c := range []struct{ name, text, want string }{
		{"empty file", "", `s.yaml: elevation.path: missing; name the elevation raster, a folder of tiles, or a glob`},
		{"only remarks", "# nothing\n", `s.yaml: elevation.path: missing; name the elevation raster, a folder of tiles, or a glob`},
		{"elevation without path", "elevation:\n  unit: m\n", `s.yaml:2:3: elevation.path: missing; name the elevation raster, a folder of tiles, or a glob`},
		{"slip in a key", e + "streams:\n  path: s.gpkg\n  treshold_km2: 3\n", `s.yaml:4:3: streams.treshold_km2: unknown key; did you mean "threshold_km2"?`},
		{"slip in a top key", e + "shortlits: {}\n", `s.yaml:2:1: shortlits: unknown key; did you mean "shortlist"?`},
		{"foreign key", e + "run:\n  zoom: 3\n", `s.yaml:3:3: run.zoom: unknown key; known here: workers, memory, scratch, most_features, most_points, cache`},
		{"text for a number", e + "frame:\n  cell: ten\n", `s.yaml:3:9: frame.cell: expected a number, found "ten"`},
		{"not a number", e + "frame: {collar: .nan}\n", `s.yaml:2:17: frame.collar: expected a number, found ".nan"`},
		{"no end of metres", e + "frame: {collar: .inf}\n", `s.yaml:2:17: frame.collar: expected a number, found ".inf"`},
		{"half a patch", e + "shortlist:\n  top: 2.5\n", `s.yaml:3:8: shortlist.top: expected a whole number, found "2.5"`},
		{"list for a number", e + "frame:\n  cell: [1]\n", `s.yaml:3:9: frame.cell: expected a number, found a list`},
		{"text for a section", e + "frame: utm\n", `s.yaml:2:8: frame: expected keys and values, found "utm"`},
		{"keys for a list", "elevation: {path: {a: b}}\n", `s.yaml:1:19: elevation.path: expected a list, found keys and values`},
		{"nothing in a list", "elevation: {path: [a.tif, ]}\nname: [x]\n", `s.yaml:2:7: name: expected text, found a list`},
		{"out of range", e + "frame: {cell: -3}\n", `s.yaml:2:15: frame.cell: expected 0.1 to 1000 metres, found -3`},
		{"unknown unit", "elevation:\n  path: a.tif\n  unit: us-feet\n", `s.yaml:3:9: elevation.unit: "us-feet" is not known; did you mean "us-ft"?`},
		{"CRS by name", e + "frame: {crs: WGS84}\n", `s.yaml:2:14: frame.crs: expected auto, elevation, utm or EPSG: and a number, found "WGS84"`},
		{"CRS of a layer", "elevation: {path: a.tif, crs: 26918}\n", `s.yaml:1:31: elevation.crs: expected EPSG: and a number, such as EPSG:26918, found "26918"`},
		{"unknown legend", e + "landcover:\n  path: b.tif\n  legend: us-30\n", `s.yaml:4:11: landcover.legend: "us-30" is not known; did you mean "us-30m"?`},
		{"legend without layer", e + "landcover:\n  legend: corine\n", `s.yaml:3:3: landcover.path: missing, though other settings of the land cover are given`},
		{"unknown profile", e + "profile: elm\n", `s.yaml:2:10: profile: "elm" is not known; known here: elm-bottoms`},
		{"patch sizes that cannot be cut", e + "shortlist: {min_ha: 5, max_ha: 6}\n", `s.yaml:2:32: shortlist.max_ha: 6 ha is less than twice min_ha (5 ha), so a patch too large could not be cut in two; raise one or lower the other`},
		{"unknown layer", e + "output: {layers: [hight]}\n", `s.yaml:2:18: output.layers: "hight" is not known; did you mean "height"?`},
		{"all and more", e + "output: {layers: [all, slope]}\n", `s.yaml:2:18: output.layers: "all" is not known; known here: ` + strings.Join(LayerNames, ", ")},
		{"evidence without a table", e + "evidence:\n  layers:\n    - {name: rock, path: r.tif}\n", `s.yaml:4:7: evidence.layers[0].table: missing; name a CSV (field,value,shift,meaning,source) that says what the layer's values weigh, or soils, flood-zones, inside`},
		{"evidence without a name", e + "evidence: {layers: [{path: r.tif, table: t.csv}]}\n", `s.yaml:2:21: evidence.layers[0].name: missing; say in a word or two what the layer is, such as geology`},
		{"soils without a path", e + "evidence: {soils: {layer: mu}}\n", `s.yaml:2:19: evidence.soils.path: missing, though other settings of the layer are given`},
		{"unknown evidence table", e + "evidence: {soils: {path: s.gpkg, table: soil}}\n", `s.yaml:2:41: evidence.soils.table: "soil" is not known; did you mean "soils"?`},
		{"unknown measure", e + "inventory: {rasters: [{host: american-elm, path: a.tif, measure: volume}]}\n", `s.yaml:2:66: inventory.rasters[0].measure: "volume" is not known; known here: basal-area, likelihood, trees-ha`},
		{"unknown access", e + "access: [{path: p.gpkg, status: free}]\n", `s.yaml:2:33: access[0].status: "free" is no status; use one of unknown, open, permit, private, closed`},
		{"access told twice", e + "access: [{path: p.gpkg, status: open, field: a}]\n", `s.yaml:2:33: access[0].status: says what every polygon is, and field what each is: give one of the two`},
		{"keep out of nothing", e + "keep_out: [{distance: 3}]\n", `s.yaml:2:12: keep_out[0].path: missing; name a layer, or kinds of land cover with cover`},
		{"keep out, no reason", e + "keep_out: [{path: r.gpkg, distance: 3}]\n", `s.yaml:2:12: keep_out[0].reason: missing; say in a few words why, such as railway`},
		{"keep out of cover without cover", e + "keep_out: [{cover: [crop], distance: 3}]\n", `s.yaml:2:20: keep_out[0].cover: no land cover is named in the survey`},
		{"unknown preset", e + "keep_out: [{path: r.gpkg, preset: railway}]\n", `s.yaml:2:35: keep_out[0].preset: "railway" is not known; did you mean "railways"?`},
		{"parking without ways", e + "approach: {parking: {path: p.gpkg}}\n", `s.yaml:2:11: approach.paths: missing; parking and water are of use with paths or roads`},
		{"layer that cannot be made", e + "output: {layers: [access]}\n", `s.yaml:2:18: output.layers: access cannot be written: the survey names no layer to make it from`},
		{"memory in words", e + "run: {memory: lots}\n", `s.yaml:2:15: run.memory: expected a size such as 2GB, 512MB or auto, found "lots"`},
		{"too little memory", e + "run: {memory: 1MB}\n", `s.yaml:2:15: run.memory: 1MB is too little to work with; give at least 64MB`},
		{"second document", e + "---\nname: b\n", `s.yaml:3:1: a second document starts here; keep one document in a file`},
		{"alias", "name: &n x\n" + e, `s.yaml:1:7: name: YAML anchors, aliases and tags are not used in this file; write the value out`},
		{"merge key", e + "frame: {<<: {cell: 1}}\n", `s.yaml:2:9: frame: a key must be plain text`},
		{"a list", "- a\n- b\n", `s.yaml:1:1: expected keys and values, found a list`},
		{"deep", "a: " + strings.Repeat("[", 5000), `s.yaml:1: nested too deep`},
		{"deep dashes", strings.Repeat("- ", 3000) + "a", `s.yaml:1: nested too deep`},
		{"long line", "a: " + strings.Repeat("x", 9000), `s.yaml:1: line of 9003 characters, more than the 8192 allowed`},
		{"binary", "a: \x00", `s.yaml:1: holds a zero byte; save the file as plain UTF-8 text`},
		{"large", strings.Repeat("# x\n", 300_000), `s.yaml: 1200000 bytes, more than the 1 MiB allowed for such a file`},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := ParseSurvey("s.yaml", []byte(c.text))
			if err == nil {
				t.Fatalf("accepted: %+v", s)
			}
			if got := err.Error(); got != c.want {
				t.Errorf("error\n got %s\nwant %s", got, c.want)
			}
		})
	}
}

// A key written twice and broken YAML are the parser's to find; its words may
// change, the place may not.
func TestSurveySyntaxErrorsHaveAPlace(t *testing.T) {
	for _, c := range []struct{ name, text, place string }{
		{"key twice", "name: a\nname: b\n", "s.yaml:2:1: "},
		{"open bracket", "name: [a\n", "s.yaml:1:7: "},
		{"tab", "elevation:\n\tpath: a\n", "s.yaml:2:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseSurvey("s.yaml", []byte(c.text))
			if err == nil || !strings.HasPrefix(err.Error(), c.place) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want one line starting with %q", err, c.place)
			}
		})
	}
}

func TestLoadSurveyWithoutFile(t *testing.T) {
	dir := t.TempDir()
	if _, err := LoadSurvey(filepath.Join(dir, "none.yaml")); err == nil || err.Error() != "survey file: "+filepath.Join(dir, "none.yaml")+": no such file" {
		t.Errorf("missing file: %v", err)
	}
	if _, err := LoadSurvey(dir); err == nil || !strings.Contains(err.Error(), "not a plain file") {
		t.Errorf("folder: %v", err)
	}
}

// The template reads back as it stands, names every key, and with all its
// remarks opened up holds nothing but defaults and example inputs.
func TestTemplate(t *testing.T) {
	in := TemplateInputs{Name: "Otter County: 50% of it", Elevation: "dem/", Streams: "s p.gpkg", LandCover: "null.tif", Legend: "world-10m"}
	s := parse(t, string(Template(in)))
	want := DefaultSurvey()
	want.File, want.Name = "s.yaml", in.Name
	want.Elevation.Path, want.Streams.Path = []string{in.Elevation}, []string{in.Streams}
	want.LandCover.Path, want.LandCover.Legend = []string{in.LandCover}, in.Legend
	if d := cmp.Diff(want, s); d != "" {
		t.Errorf("template with inputs (-want +got):\n%s", d)
	}

	option := regexp.MustCompile(`(?m)^#( *[a-z_0-9]+:)`)
	open := option.ReplaceAllString(string(Template(TemplateInputs{})), "$1")
	s = parse(t, open)
	want = DefaultSurvey()
	want.File, want.Name = "s.yaml", "survey"
	want.Elevation = ElevationSpec{[]string{"elevation.tif"}, "auto", "EPSG:26918", new(-9999.0)}
	want.Area = AreaSpec{"area.geojson", "boundary", "kind = 'county'", "EPSG:4326"}
	want.Streams.Path, want.Streams.Layer, want.Streams.Where, want.Streams.CRS = []string{"streams.gpkg"}, "flowline", "visible = 1", "EPSG:4269"
	want.Streams.Fields = StreamFields{"gnis_name", "streamorde", "totdasqkm", "fcode"}
	want.LandCover = LandCoverSpec{[]string{"landcover.tif"}, "auto", "EPSG:5070", new(int64(0)), "stop"}
	want.Target, want.Curve = "spring-morels", "northeast"
	layer := func(path string) LayerSpec { return LayerSpec{Path: path} }
	want.Evidence = EvidenceSpec{ValleyFlatness: true,
		Soils: EvidenceLayer{LayerSpec: LayerSpec{"soils.gpkg", "mapunits", "1 = 1", "EPSG:4269", false}, Nodata: new(int64(0)),
			Fields: map[string]string{"flooding": "flodfreqcd", "drainage": "drclassdcd", "subgroup": "taxsubgrp"}, Table: "soils", Unknown: "neutral"},
		FloodZones: EvidenceLayer{LayerSpec: layer("floodzones.gpkg"), Fields: map[string]string{"zone": "FLD_ZONE", "subtype": "ZONE_SUBTY"}, Table: "flood-zones"}}
	want.Inventory.Trees = TreeLayer{LayerSpec: LayerSpec{Path: "trees.gpkg", Layer: "trees"},
		Fields:       map[string]string{"species": "SPCD", "diameter": "DIA_CM", "status": "STATUSCD"},
		DiameterUnit: "cm", MinCm: 10, BandwidthM: 100, Covers: []string{"all"}, Surveyed: LayerSpec{Path: "trees.gpkg", Layer: "surveyed"}}
	places := func(name string) LayerSpec { return LayerSpec{Path: "places.gpkg", Layer: name} }
	want.Approach.Paths, want.Approach.Roads, want.Approach.Parking, want.Approach.Water = places("paths"), places("roads"), places("parking"), places("water")
	if d := cmp.Diff(want, s); d != "" {
		t.Errorf("template opened up (-want +got):\n%s", d)
	}
	for _, key := range allKeys(reflect.TypeFor[Survey]()) {
		if !regexp.MustCompile(`(?m)^ *` + key + `:`).MatchString(open) {
			t.Errorf("template has no line for %s", key)
		}
	}
}

func allKeys(typ reflect.Type) []string {
	keys := keysOf(typ)
	for i := range typ.NumField() {
		if f := typ.Field(i); f.Type.Kind() == reflect.Struct && f.Tag.Get("yaml") != "-" {
			keys = append(keys, allKeys(f.Type)...)
		}
	}
	return keys
}

func TestByteSize(t *testing.T) {
	for text, want := range map[string]ByteSize{"auto": 0, "64MB": 64 << 20, "2 GB": 2 << 30, "1tb": 1 << 40, "100": 100, "3KB": 3 << 10} {
		var b ByteSize
		if err := b.setText(text); err != nil || b != want {
			t.Errorf("%q: got %d, %v; want %d", text, b, err, want)
		}
		var again ByteSize
		if err := again.setText(b.String()); err != nil || again != b {
			t.Errorf("%q written as %q reads back as %d, %v", text, b, again, err)
		}
	}
	for _, text := range []string{"", "-1", "1.5GB", "9999999TB", "GB", "2 stones"} {
		if err := new(ByteSize).setText(text); err == nil {
			t.Errorf("%q accepted", text)
		}
	}
}

func TestPickField(t *testing.T) {
	columns := []string{"OBJECTID", "GNIS_Name", "StreamOrde", "TotDASqKM", "FCode"}
	usual := StreamFieldNames()
	for _, c := range []struct {
		want  string
		usual []string
		got   string
	}{{"", usual.Name, "GNIS_Name"}, {"", usual.Order, "StreamOrde"}, {"", usual.Area, "TotDASqKM"}, {"", usual.Code, "FCode"}, {"objectid", usual.Name, "OBJECTID"}, {"", []string{"x"}, ""}} {
		if got, err := PickField("streams.fields.name", c.want, c.usual, columns); err != nil || got != c.got {
			t.Errorf("want %q usual %v: got %q, %v; want %q", c.want, c.usual, got, err, c.got)
		}
	}
	_, err := PickField("streams.fields.area", "totdasqm", usual.Area, columns)
	if want := `streams.fields.area: the layer has no column "totdasqm"; did you mean "TotDASqKM"?`; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "abc", 3}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"same", "same", 0}, {"threshold", "treshold", 1}} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: got %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
