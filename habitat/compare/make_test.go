package compare

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// made is a run's folder made by hand: square patches on a grid of 10 m cells
// in UTM zone 16 north.
type made struct {
	run      string
	patches  []patch
	survey   map[string]any
	profile  map[string]any
	inputs   []map[string]any
	found    int
	x0, y0   float64 // corner of the rasters; 0 = that of madeFrame
	w, h     int
	suit     func(x, y int) float32 // NaN = no value; nil = no raster
	layers   map[string]func(x, y int) float32
	format   string
	software map[string]string
}

// patch is a rectangle of cells, x1 and y1 not among them.
type patch struct {
	x0, y0, x1, y1                        int
	score, suitability, bottomland, finds float64
	access                                string
	walk                                  float64
	shift                                 float64
	slope                                 float64
}

const (
	madeX0 = 500000
	madeY0 = 4800000
)

func (m made) frame(t testing.TB) raster.Frame {
	t.Helper()
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{W: 60, H: 40, X0: madeX0, Y0: madeY0, Cell: 10, WKT: crs.WKT, EPSG: 32616, Name: crs.Name}
	if m.w > 0 {
		f.W, f.H = m.w, m.h
	}
	if m.x0 != 0 {
		f.X0, f.Y0 = m.x0, m.y0
	}
	return f
}

// write makes the folder.
func (m made) write(t testing.TB) string {
	t.Helper()
	dir := t.TempDir()
	f := m.frame(t)
	if m.format == "" {
		m.format = recordFormat
	}
	survey := map[string]any{"name": "Hand-made county", "threshold": 0.6}
	for k, v := range m.survey {
		survey[k] = v
	}
	record := map[string]any{"format": m.format, "run": m.run, "survey": survey, "profile": m.profile, "inputs": m.inputs, "software": m.software,
		"frame":  map[string]any{"crs": f.Name, "epsg": f.EPSG, "cell_m": f.Cell, "columns": f.W, "rows": f.H, "west": f.X0, "north": f.Y0, "written_window": []int{0, 0, f.W, f.H}},
		"counts": map[string]any{"threshold": survey["threshold"], "patches_found": max(m.found, len(m.patches))}}
	data, err := json.MarshalIndent(record, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(dir, "run.json"), data)
	to, err := vector.ToWGS84(f.WKT)
	if err != nil {
		t.Fatal(err)
	}
	c := vector.Collection{Members: []vector.Property{{Key: "run", Value: m.run}}}
	for i, p := range m.patches {
		e := func(x int) float64 { return madeX0 + 10*float64(x) }
		n := func(y int) float64 { return madeY0 - 10*float64(y) }
		g, err := to.Geometry(orb.Polygon{{{e(p.x0), n(p.y1)}, {e(p.x1), n(p.y1)}, {e(p.x1), n(p.y0)}, {e(p.x0), n(p.y0)}, {e(p.x0), n(p.y1)}}})
		if err != nil {
			t.Fatal(err)
		}
		c.Features = append(c.Features, vector.GeoFeature{ID: i + 1, Geometry: g, Properties: []vector.Property{
			{Key: "rank", Value: i + 1}, {Key: "score", Value: p.score}, {Key: "area_ha", Value: float64((p.x1-p.x0)*(p.y1-p.y0)) / 100},
			{Key: "suitability_mean", Value: p.suitability}, {Key: "bottomland_mean", Value: p.bottomland}, {Key: "expected_finds", Value: p.finds},
			{Key: "evidence_shift", Value: p.shift}, {Key: "slope_pct", Value: p.slope}, {Key: "access", Value: p.access}, {Key: "walk_m", Value: p.walk}}})
	}
	if err := vector.WriteGeoJSON(filepath.Join(dir, "shortlist.geojson"), c); err != nil {
		t.Fatal(err)
	}
	if m.suit != nil {
		writeFloats(t, filepath.Join(dir, "suitability.tif"), f, m.suit)
	}
	for name, v := range m.layers {
		if err := os.MkdirAll(filepath.Join(dir, "layers"), 0o755); err != nil {
			t.Fatal(err)
		}
		writeFloats(t, filepath.Join(dir, "layers", name+".tif"), f, v)
	}
	return dir
}

func writeFloats(t testing.TB, path string, f raster.Frame, at func(x, y int) float32) {
	t.Helper()
	none := -9999.0
	err := raster.WriteCOG(context.Background(), path, f, raster.TIFFOptions{NoData: &none, Workers: 1}, func(y, n int, dst []float32) error {
		for i := range dst[:n*f.W] {
			dst[i] = at(i%f.W, y+i/f.W)
			if math.IsNaN(float64(dst[i])) {
				dst[i] = -9999
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func put(t testing.TB, path string, data []byte) {
	t.Helper()
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

func flat(v float32) func(x, y int) float32 { return func(int, int) float32 { return v } }

// square is a patch of ten by ten cells, one hectare, with common figures.
func square(x, y int, score float64) patch {
	return patch{x0: x, y0: y, x1: x + 10, y1: y + 10, score: score, suitability: score, bottomland: 0.8, finds: 3, access: "open", walk: 200, slope: 2}
}

// compared opens and compares two folders.
func compared(t testing.TB, a, b string) *Result {
	t.Helper()
	ra, err := Open(a, "A")
	if err != nil {
		t.Fatal(err)
	}
	rb, err := Open(b, "B")
	if err != nil {
		t.Fatal(err)
	}
	r, err := Runs(context.Background(), ra, rb, 10, 2)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// story is one line for each candidate: "1>2 fell evidence".
func story(r *Result) string {
	var out []string
	for _, p := range r.Candidates {
		out = append(out, fmt.Sprintf("%s>%s %s %s", rankText(p.Before), rankText(p.After), p.Status, p.Why.Attribute))
	}
	return strings.Join(out, "; ")
}
