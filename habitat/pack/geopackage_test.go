package pack

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/internal/judges"
	"rillwood/vector"
)

func TestGeoPackageIsOneOGRReads(t *testing.T) {
	run := madeRun(t)
	path := filepath.Join(t.TempDir(), gpkgName)
	if err := writeGeoPackage(t.Context(), path, run, all(run)); err != nil {
		t.Fatal(err)
	}
	judges.Quiet(t, path)
	info, err := vector.Describe(path, "candidates", "")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff([]string{"candidates", "entry_points", "ways", "streams", "access"}, info.Layers); d != "" || info.EPSG != run.Frame.EPSG {
		t.Errorf("EPSG %d; layers (-want +got):\n%s", info.EPSG, d)
	}
	// From the grid back to degrees by GDAL's own tool.
	layer := func(name string) []feature { return geojson(t, "-t_srs", "EPSG:4326", path, name) }
	patches := layer("candidates")
	if len(patches) != len(run.Candidates) {
		t.Fatalf("%d candidates", len(patches))
	}
	rows, head := table(t, madeCSV(t, run))
	for i, f := range patches {
		c := run.Candidates[i]
		var shape [][][]orb.Point
		if err := json.Unmarshal(f.Geometry.Coordinates, &shape); err != nil {
			t.Fatal(err)
		}
		if len(shape) != len(c.Shape) {
			t.Fatalf("candidate %d: %d parts, want %d", c.Rank, len(shape), len(c.Shape))
		}
		for j, poly := range c.Shape {
			for k, ring := range poly {
				for n, p := range shape[j][k] {
					if !slices.ContainsFunc(ring, func(q orb.Point) bool { return abs(p[0]-q[0]) < 1e-6 && abs(p[1]-q[1]) < 1e-6 }) {
						t.Fatalf("candidate %d: corner %d of part %d is %v", c.Rank, n, j, p)
					}
				}
			}
		}
		// What a viewer styles by, and the same attributes as the table's.
		if f.Properties["colour"] != nilOr(colourOf(c.SMean)) || f.Properties["label"] == nil {
			t.Errorf("candidate %d: %v, %v", c.Rank, f.Properties["colour"], f.Properties["label"])
		}
		for _, k := range head {
			if v, ok := f.Properties[k]; !ok || (v == nil) != (rows[i][k] == "") {
				t.Errorf("candidate %d: %s is %v, in the table %q", c.Rank, k, v, rows[i][k])
			}
		}
	}
	if s := layer("streams"); len(s) != 1 || s[0].Properties["name"] != "Shalecote Brook" || s[0].Properties["stream_order"] != 2.0 {
		t.Errorf("streams: %+v", s)
	}
	if e := layer("entry_points"); len(e) != 4 || e[0].Properties["label"] != "RW01 IN" || e[1].Properties["kind"] != "start" {
		t.Errorf("entries: %+v", e)
	}
	if w := layer("ways"); len(w) != 1 || w[0].Properties["water_crossings"] != 1.0 {
		t.Errorf("ways: %+v", w)
	}
}

func abs(v float64) float64 { return max(v, -v) }

func nilOr(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func TestGeoPackageKeepsTextOnOneLine(t *testing.T) {
	run := madeRun(t)
	path := filepath.Join(t.TempDir(), gpkgName)
	if err := writeGeoPackage(t.Context(), path, run, all(run)); err != nil {
		t.Fatal(err)
	}
	layer, err := vector.Read(t.Context(), vector.Query{Path: path, Layer: "candidates", Fields: []string{"why", "stream"}}, "")
	if err != nil {
		t.Fatal(err)
	}
	got := layer.Features[1].Values[0].String()
	if got != plain(hostile) || strings.ContainsAny(got, "\r\n\x00\x1b") {
		t.Errorf("why: %q", got)
	}
}
