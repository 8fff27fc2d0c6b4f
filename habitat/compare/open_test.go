package compare

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Each fault of a folder is one line that names the run, the file and the fault.
func TestFaultsOfFolders(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(dir string) error
		want  string
	}{
		{"no folder", os.RemoveAll, "is no folder"},
		{"no record", func(d string) error { return os.Remove(filepath.Join(d, "run.json")) }, `run.json" is missing`},
		{"no shortlist", func(d string) error { return os.Remove(filepath.Join(d, "shortlist.geojson")) }, `shortlist.geojson" is missing`},
		{"record cut short", cut("run.json"), "no JSON"},
		{"shortlist cut short", cut("shortlist.geojson"), "no JSON"},
		{"empty record", write("run.json", ""), "no JSON"},
		{"record of another format", write("run.json", `{"format": "rillwood-run-2"}`), `format is "rillwood-run-2"`},
		{"no record at all", write("run.json", `{"a": 1}`), `"format" is missing`},
		{"record of another kind", write("run.json", `{"format": "rillwood-run-1", "run": "a", "inputs": 3}`), `"inputs" is a JSON number`},
		{"list for a record", write("run.json", `[]`), "is a JSON array"},
		{"record without its run", write("run.json", `{"format": "rillwood-run-1"}`), `"run" is missing`},
		{"record that is a folder", func(d string) error {
			return first(os.Remove(filepath.Join(d, "run.json")), os.Mkdir(filepath.Join(d, "run.json"), 0o755))
		}, "no plain file"},
		{"shortlist of another run", write("shortlist.geojson", `{"type": "FeatureCollection", "run": "b", "features": []}`), "files of two runs"},
		{"no collection", write("shortlist.geojson", `{"type": "Feature"}`), "want a FeatureCollection"},
		{"no geometry", feature(`null`, `{"rank": 1}`), "no geometry"},
		{"no rank", feature(`{"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}`, `{}`), "no rank"},
		{"a point", feature(`{"type": "Point", "coordinates": [0,0]}`, `{"rank": 1}`), `geometry is "Point"`},
		{"open ring", feature(`{"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,1]]]}`, `{"rank": 1}`), "not closed"},
		{"short ring", feature(`{"type": "Polygon", "coordinates": [[[0,0],[1,0],[0,0]]]}`, `{"rank": 1}`), "3 positions"},
		{"metres for degrees", feature(`{"type": "Polygon", "coordinates": [[[500000,0],[1,0],[1,1],[500000,0]]]}`, `{"rank": 1}`), "longitude and latitude"},
		{"no ring", feature(`{"type": "Polygon", "coordinates": []}`, `{"rank": 1}`), "no ring"},
		{"text for a figure", feature(`{"type": "Polygon", "coordinates": []}`, `{"rank": 1, "score": "high"}`), "is a JSON string"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := made{run: "a", patches: []patch{square(0, 0, 0.9)}}.write(t)
			if err := c.spoil(dir); err != nil {
				t.Fatal(err)
			}
			_, err := Open(dir, "A")
			if err == nil {
				t.Fatal("taken as it is")
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "run A: ") {
				t.Errorf("got %v, want %q in one line", err, c.want)
			}
		})
	}
}

// Without suitability, or with a damaged layer, candidates are still compared.
func TestMissingRastersAreNotes(t *testing.T) {
	whole := made{run: "a", suit: flat(0.7), patches: []patch{square(0, 0, 0.9), square(20, 0, 0.8)}}.write(t)
	for _, c := range []struct {
		name, note string
		spoil      func(dir string) error
	}{
		{"no suitability", "no suitability raster", func(d string) error { return os.Remove(filepath.Join(d, "suitability.tif")) }},
		{"no raster", "no suitability raster", write("suitability.tif", "nonsense")},
		{"damaged layer", "not looked at", func(d string) error {
			return first(os.Mkdir(filepath.Join(d, "layers"), 0o755), os.WriteFile(filepath.Join(d, "layers", "bottomland.tif"), []byte("nonsense"), 0o644))
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := made{run: "b", suit: flat(0.7), patches: []patch{square(20, 0, 0.9)}}.write(t)
			if err := c.spoil(dir); err != nil {
				t.Fatal(err)
			}
			for _, r := range []*Result{compared(t, whole, dir), compared(t, dir, whole)} {
				if !strings.Contains(strings.Join(r.Notes, "\n"), c.note) {
					t.Errorf("notes %q", r.Notes)
				}
				if r.Counts.Rose+r.Counts.Fell != 1 {
					t.Errorf("%+v", r.Counts)
				}
				checkText(t, r)
			}
		})
	}
}

func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func write(name, text string) func(dir string) error {
	return func(dir string) error { return os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644) }
}

func feature(geometry, properties string) func(dir string) error {
	return write("shortlist.geojson", `{"type": "FeatureCollection", "features": [{"type": "Feature", "geometry": `+geometry+`, "properties": `+properties+`}]}`)
}

func cut(name string) func(dir string) error {
	return func(dir string) error {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return err
		}
		return os.WriteFile(filepath.Join(dir, name), data[:len(data)/2], 0o644)
	}
}

func FuzzRecord(f *testing.F) {
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "survey": {"threshold": 0.6, "access": [{"layer": "a"}], "layers": ["x"]}, "inputs": [{"role": "evidence.layers[0]"}]}`))
	f.Add([]byte(`{"format": "rillwood-run-1", "run": "a", "profile": {"bottomland": {"intercept": {"value": 1}}, "hosts": [{"id": "x", "hits": 3}]}}`))
	f.Add([]byte(`{"format": 3}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := parseRecord(data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than a line: %q", err)
			}
			return
		}
		run := &Run{record: r}
		if changes := changesBetween(run, run); len(changes) > 0 {
			t.Errorf("a record differs from itself: %+v", changes)
		}
		for _, c := range changesBetween(run, &Run{record: record{Run: "b"}}) {
			if c.What == "" || c.words() == "" || c.short() == "" {
				t.Errorf("no words for %+v", c)
			}
		}
	})
}

func FuzzShortlist(f *testing.F) {
	f.Add([]byte(`{"type": "FeatureCollection", "run": "b", "features": [{"geometry": {"type": "Polygon", "coordinates": [[[0,0],[1,0],[1,1],[0,0]]]}, "properties": {"rank": 1, "score": 0.5}}]}`))
	f.Add([]byte(`{"type": "FeatureCollection", "features": [{"geometry": {"type": "MultiPolygon", "coordinates": [[[[0,0],[1,0],[1,1],[0,0]]]]}, "properties": {"rank": 2, "walk_m": null}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, err := parseShortlist(data)
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than a line: %q", err)
			}
			return
		}
		for i, c := range l.candidates {
			if c.Rank < 1 || len(c.shape) == 0 || i > 0 && c.Rank <= l.candidates[i-1].Rank {
				t.Errorf("candidate %+v", c)
			}
		}
	})
}
