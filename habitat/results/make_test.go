package results

import (
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// made is a run's folder made by hand, on 10 m cells of UTM zone 16 north.
type made struct {
	w, h        int
	suitability func(x, y int) float32 // NaN = not mapped
	relief      func(x, y int) uint8   // nil = no file
	access      func(x, y int) uint8   // nil = no file
	record      map[string]any         // laid over the common fields; a nil takes one away
}

const (
	madeX0 = 500000.0
	madeY0 = 4800000.0
)

func madeFrame(t testing.TB, w, h int) raster.Frame {
	t.Helper()
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	return raster.Frame{W: w, H: h, X0: madeX0, Y0: madeY0, Cell: 10, WKT: crs.WKT, EPSG: 32616, Name: crs.Name}
}

// write makes the folder: two candidates, the first with a way in.
func (m made) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	if m.w == 0 {
		m.w, m.h = 60, 40
	}
	if m.suitability == nil {
		m.suitability = func(x, y int) float32 { return float32(x) / 100 }
	}
	f := madeFrame(t, m.w, m.h)
	writeRaster(t, filepath.Join(dir, "suitability.tif"), f, -9999, func(x, y int) float32 {
		if v := m.suitability(x, y); v == v {
			return v
		}
		return -9999
	})
	outputs := []string{"suitability.tif", "shortlist.geojson", "ways.geojson", "streams.gpkg", "run.json"}
	if m.relief != nil {
		writeRaster(t, filepath.Join(dir, "relief.tif"), f, 0, m.relief)
		outputs = append(outputs, "relief.tif")
	}
	if m.access != nil {
		if err := os.Mkdir(filepath.Join(dir, "layers"), 0o755); err != nil {
			t.Fatal(err)
		}
		writeRaster(t, filepath.Join(dir, "layers", "access.tif"), f, 255, m.access)
		outputs = append(outputs, "layers/access.tif")
	}
	m.writeFeatures(t, dir, f)
	m.writeRecord(t, dir, f, outputs)
	return dir
}

// alone makes the folder without candidates, for grids too small for them.
func (m made) alone(t testing.TB) string {
	t.Helper()
	dir := m.write(t)
	for _, name := range []string{"shortlist.geojson", "ways.geojson"} {
		put(t, filepath.Join(dir, name), `{"type": "FeatureCollection", "features": []}`)
	}
	return dir
}

func (m made) writeRecord(t testing.TB, dir string, f raster.Frame, outputs []string) {
	t.Helper()
	cautions := []any{}
	for _, key := range expected {
		cautions = append(cautions, map[string]any{"key": key, "title": "About " + key, "text": "Mind the " + key + ".", "short": key != "wood"})
	}
	record := map[string]any{
		"format": Format, "run": "a1", "software": map[string]any{"rillwood": "0.1.0"}, "caution": firstCaution, "cautions": cautions,
		"help":     map[string]any{"poison_line": "555-0100", "emergency": "555", "where": "everywhere"},
		"target":   map[string]any{"common": "velvet foot", "scientific": "Flammulina", "months": []int{11, 12, 1}},
		"survey":   map[string]any{"name": "Hand-made county", "threshold": 0.6},
		"inputs":   []any{map[string]any{"role": "elevation", "path": "z.tif", "bytes": 7, "sha256": "00"}},
		"frame":    map[string]any{"epsg": 32616, "cell_m": 10, "west": f.X0 - 50, "north": f.Y0 + 30, "written_window": []int{5, 3, f.W, f.H}},
		"profile":  map[string]any{"name": "elms", "hosts": []any{map[string]any{"id": "elm", "common": "Elm", "scientific": "Ulmus", "winter": "buttressed"}, map[string]any{"id": "ash", "common": "Ash"}}, "hit_rates": []any{map[string]any{"host": "elm", "hits": 3, "of": 40, "weight": 20}}},
		"counts":   map[string]any{"threshold": 0.5, "patches_found": 7},
		"warnings": []string{"one bridge unmapped"}, "outputs": outputs,
	}
	for k, v := range m.record {
		if record[k] = v; v == nil {
			delete(record, k)
		}
	}
	data, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(dir, "run.json"), string(data))
}

func (m made) writeFeatures(t testing.TB, dir string, f raster.Frame) {
	t.Helper()
	to, err := vector.ToWGS84(f.WKT)
	if err != nil {
		t.Fatal(err)
	}
	geo := func(g orb.Geometry) orb.Geometry {
		g, err := to.Geometry(g)
		if err != nil {
			t.Fatal(err)
		}
		return g
	}
	point := func(x, y float64) orb.Point { e, n := f.Corner(x, y); return orb.Point{e, n} }
	degrees := func(x, y float64) orb.Point { return geo(point(x, y)).(orb.Point) }
	square := func(x, y float64) orb.Geometry {
		return geo(orb.Polygon{{point(x, y), point(x, y+10), point(x+10, y+10), point(x+10, y), point(x, y)}})
	}
	run := []vector.Property{{Key: "run", Value: "a1"}}
	mid, start, entry := degrees(25, 15), degrees(2, 2), degrees(20, 10)
	first := []vector.Property{
		{Key: "rank", Value: 1}, {Key: "score", Value: 0.9}, {Key: "area_ha", Value: 1.0}, {Key: "suitability_mean", Value: 0.8}, {Key: "suitability_max", Value: 0.85},
		{Key: "bottomland_mean", Value: 0.7}, {Key: "expected_finds", Value: 2.5}, {Key: "expected_finds_sd", Value: 1.5}, {Key: "expected_finds_low", Value: 0.3},
		{Key: "expected_finds_high", Value: 8.0}, {Key: "rank_confidence", Value: 0.95}, {Key: "learning_visit", Value: true}, {Key: "first_host", Value: "Elm"},
		{Key: "trees_to_check_95", Value: 39}, {Key: "holds_that_many", Value: true}, {Key: "dead_trees", Value: 201.0},
		{Key: "trees", Value: []vector.Property{
			{Key: "elm", Value: []vector.Property{{Key: "expected", Value: 9}, {Key: "low", Value: 2}, {Key: "high", Value: 20}}},
			{Key: "ash", Value: []vector.Property{{Key: "expected", Value: 4}, {Key: "low", Value: 1}, {Key: "high", Value: 8}}}}},
		{Key: "height_m", Value: 0.3}, {Key: "slope_pct", Value: 2.5}, {Key: "stream", Value: "Shale Brook"}, {Key: "stream_order", Value: 2}, {Key: "stream_m", Value: 13},
		{Key: "cover", Value: "wooded_wetland"}, {Key: "cover_share", Value: 0.97}, {Key: "limiting", Value: "none"}, {Key: "outside_drainage_share", Value: 0.1},
		{Key: "evidence", Value: []string{"soil: flooded"}}, {Key: "evidence_shift", Value: 3.0}, {Key: "measured_share", Value: 0.25}, {Key: "access", Value: "open"},
		{Key: "access_note", Value: "open to the public"}, {Key: "land", Value: []string{"Velvet Flats"}}, {Key: "lon", Value: mid[0]}, {Key: "lat", Value: mid[1]}, {Key: "why", Value: "Wet woods."},
		{Key: "walk_note", Value: "320 m from the parking place"}, {Key: "walk_m", Value: 320}, {Key: "walk_path_m", Value: 300}, {Key: "walk_off_path_m", Value: 20},
		{Key: "climb_m", Value: 5}, {Key: "descent_m", Value: 4}, {Key: "water_crossings", Value: 1}, {Key: "start_kind", Value: "parking"}, {Key: "start", Value: "Mill Lot"},
		{Key: "start_lon", Value: start[0]}, {Key: "start_lat", Value: start[1]}, {Key: "entry_lon", Value: entry[0]}, {Key: "entry_lat", Value: entry[1]},
	}
	far := degrees(45, 25)
	// The second tells as little as a file may, and comes first.
	second := []vector.Property{{Key: "rank", Value: 2}, {Key: "score", Value: math.NaN()}, {Key: "stream", Value: nil}, {Key: "trees_to_check_95", Value: nil}, {Key: "stream_order", Value: nil},
		{Key: "evidence", Value: nil}, {Key: "land", Value: nil}, {Key: "trees", Value: nil}, {Key: "lon", Value: far[0]}, {Key: "lat", Value: far[1]}, {Key: "walk_note", Value: "no way found"}}
	for name, c := range map[string]vector.Collection{
		"shortlist.geojson": {Members: run, Features: []vector.GeoFeature{{ID: 2, Geometry: square(40, 20), Properties: second}, {ID: 1, Geometry: square(20, 10), Properties: first}}},
		"ways.geojson": {Members: run, Features: []vector.GeoFeature{{ID: 1, Geometry: geo(orb.LineString{point(2, 2), point(10, 3), point(20, 10)}),
			Properties: []vector.Property{{Key: "rank", Value: 1}, {Key: "cautions", Value: []string{"Gates are not known."}}}}}},
	} {
		if err := vector.WriteGeoJSON(filepath.Join(dir, name), c); err != nil {
			t.Fatal(err)
		}
	}
	err = vector.WriteGeoPackage(filepath.Join(dir, "streams.gpkg"), f.WKT, []vector.OutLayer{
		{Name: "streams", Geometry: "MultiLineString", Fields: []vector.FieldInfo{{Name: "name", Type: "String"}, {Name: "stream_order", Type: "Integer64"}, {Name: "area_km2", Type: "Real"}},
			Features: []vector.Feature{
				{Geometry: orb.MultiLineString{{point(0, 20), point(60, 21)}}, Values: []vector.Value{vector.TextValue("Shale Brook"), vector.IntValue(2), vector.FloatValue(3.5)}},
				{Geometry: orb.MultiLineString{{point(5, 0), point(5, 9)}, {point(5, 12), point(5, 20)}}, Values: []vector.Value{{}, {}, {}}}}},
		{Name: "area", Geometry: "MultiPolygon", Features: []vector.Feature{{Geometry: orb.Polygon{{point(1, 1), point(1, 39), point(59, 39), point(59, 1), point(1, 1)}}}}},
	})
	if err != nil {
		t.Fatal(err)
	}
}

func writeRaster[T uint8 | float32](t testing.TB, path string, f raster.Frame, none float64, at func(x, y int) T) {
	t.Helper()
	o := raster.TIFFOptions{NoData: &none, Workers: 1}
	err := raster.WriteCOG(context.Background(), path, f, o, func(y, n int, dst []T) error {
		for i := range dst[:n*f.W] {
			dst[i] = at(i%f.W, y+i/f.W)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func put(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// opened opens a folder that must be whole.
func opened(t testing.TB, dir string) *Run {
	t.Helper()
	r, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// judge asks a Python script for JSON, or skips where a module is missing.
func judge(t *testing.T, into any, script string, args ...string) {
	t.Helper()
	cmd := exec.Command("/usr/bin/python3", append([]string{"-c", script}, args...)...)
	var said strings.Builder
	cmd.Stderr = &said
	out, err := cmd.Output()
	switch {
	case errors.Is(err, fs.ErrNotExist):
		t.Skip("no /usr/bin/python3 here: this judge is not heard")
	case err != nil && strings.Contains(said.String(), "ModuleNotFoundError"):
		t.Skip("a Python module is missing here: this judge is not heard")
	case err != nil:
		t.Fatalf("judge: %v\n%s", err, said.String())
	}
	if err := json.Unmarshal(out, into); err != nil {
		t.Fatalf("judge: %v\n%s", err, out)
	}
}

func num(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
