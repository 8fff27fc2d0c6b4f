package compare_test

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"rillwood/fixtures"
	"rillwood/habitat"
	"rillwood/habitat/compare"
	"rillwood/internal/judges"
)

var countyLayers = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return "", err
	}
	c, err := fixtures.New(150, 120, 10, 1)
	if err != nil {
		return "", err
	}
	return dir, c.Write(context.Background(), dir, nil)
})

func TestMain(m *testing.M) {
	code := m.Run()
	if dir, _ := countyLayers(); dir != "" {
		os.RemoveAll(dir)
	}
	os.Exit(code)
}

// mapped makes the map of the invented county with further lines of a survey.
func mapped(t *testing.T, more string, profile func(text string) string) string {
	t.Helper()
	dir, err := countyLayers()
	if err != nil {
		t.Fatal(err)
	}
	at := func(name string) string { return filepath.Join(dir, name) }
	text := "name: Small county\nelevation: {path: " + at("elevation.tif") + "}\nstreams: {path: " + at("streams.gpkg") + "}\n" +
		"landcover: {path: " + at("landcover.tif") + ", legend: us-30m}\n" + strings.ReplaceAll(more, "DIR", dir)
	if profile != nil {
		p, err := habitat.LoadProfile(habitat.DefaultProfile)
		if err != nil {
			t.Fatal(err)
		}
		data, err := p.Encode()
		if err != nil {
			t.Fatal(err)
		}
		changed := profile(string(data))
		if changed == string(data) {
			t.Fatal("the profile was not changed")
		}
		path := filepath.Join(t.TempDir(), "profile.yaml")
		if err := os.WriteFile(path, []byte(changed), 0o644); err != nil {
			t.Fatal(err)
		}
		text += "profile: " + path + "\n"
	}
	file := filepath.Join(t.TempDir(), "survey.yaml")
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := habitat.LoadSurvey(file)
	if err != nil {
		t.Fatal(err)
	}
	s.Output.Folder, s.Output.Preview = filepath.Join(t.TempDir(), "out"), false
	if _, err := habitat.Map(t.Context(), s, nil); err != nil {
		t.Fatal(err)
	}
	return s.Output.Folder
}

// Two maps of the invented county for each kind of change: it is found, it
// alone is found, and it stands behind what moved.
func TestCountyMappedTwice(t *testing.T) {
	const list = "shortlist: {min_ha: 0.5}\n"
	before := mapped(t, list, nil)
	for _, c := range []struct {
		name    string
		more    string
		profile func(string) string
		field   string // of one of the changes
		what    string // among the causes
		moves   bool   // the suitability
	}{
		{"the same", list, nil, "", "", false},
		{"another threshold", "shortlist: {min_ha: 0.5, threshold: 0.45}\n", nil, "survey.threshold", "suitability a patch needs", false},
		{"another weight", list, func(p string) string { return strings.Replace(p, "value: -1.5", "value: -2.5", 1) }, "profile.bottomland.weight_r.value", "log-odds here", true},
		{"a layer more", list + "evidence: {flood_zones: {path: DIR/floodzones.gpkg}}\n", nil, "input.evidence.flood_zones", "new layer of flood zones", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, err := compare.Open(before, "A")
			if err != nil {
				t.Fatal(err)
			}
			b, err := compare.Open(mapped(t, c.more, c.profile), "B")
			if err != nil {
				t.Fatal(err)
			}
			r, err := compare.Runs(t.Context(), a, b, 5, 2)
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Candidates) == 0 {
				t.Fatal("no candidates to compare")
			}
			if r.Same != (c.field == "") {
				t.Errorf("same: %v, changes %+v", r.Same, r.Changes)
			}
			var fields, causes []string
			for _, change := range r.Changes {
				fields = append(fields, change.Field)
			}
			for _, p := range r.Candidates {
				causes = append(causes, p.Why.Because...)
			}
			if !strings.Contains(strings.Join(fields, "\n"), c.field) {
				t.Errorf("changed: %q, want %q", fields, c.field)
			}
			if !strings.Contains(strings.Join(causes, "\n"), c.what) {
				t.Errorf("behind it: %q, want %q", causes, c.what)
			}
			if r.Raster == nil || (r.Raster.MeanAbs > 0) != c.moves {
				t.Errorf("suitability %+v", r.Raster)
			}
			out := t.TempDir()
			raster, outlines := filepath.Join(out, "difference.tif"), filepath.Join(out, "changes.geojson")
			if err := r.Raster.Write(t.Context(), raster, 2); err != nil {
				t.Fatal(err)
			}
			if err := r.WriteChanges(outlines); err != nil {
				t.Fatal(err)
			}
			if c.moves {
				judges.Quiet(t, raster, outlines)
			}
		})
	}
}
