package main

import (
	"os"
	"path/filepath"
	"slices"
	"testing"

	"rillwood/habitat"
)

// stagesOf runs something that reports its progress and lists the stages.
func stagesOf(run func(habitat.Progress) error) ([]string, error) {
	var seen []string
	err := run(func(stage string, _ float64) {
		// Stages come one after another, so their calls do not overlap at the change.
		if n := len(seen); n == 0 || seen[n-1] != stage {
			seen = append(seen, stage)
		}
	})
	return seen, err
}

func names(windows []window) []string {
	var out []string
	for _, w := range windows {
		out = append(out, w.stage)
	}
	return out
}

// The stages of a run are those of the tables, in their order: of a county
// with every layer, and of elevation alone.
func TestWindowsAreTheStagesOfARun(t *testing.T) {
	dir := t.TempDir()
	d := demoCmd{Dir: dir, Seed: 1}
	seen, err := stagesOf(func(p habitat.Progress) error {
		_, err := d.make(&console{ctx: t.Context()}, 150, 120, filepath.Join(dir, "survey.yaml"), p)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := names(wholeDemo()); !slices.Equal(seen, want) {
		t.Errorf("a demo takes the stages\n%q, foreseen are\n%q", seen, want)
	}

	lean := filepath.Join(dir, "lean.yaml")
	if err := os.WriteFile(lean, []byte("elevation: {path: layers/elevation.tif, unit: m}\nstreams: {threshold_km2: 0.1}\noutput: {folder: lean, layers: [height], preview: false}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := habitat.LoadSurvey(lean)
	if err != nil {
		t.Fatal(err)
	}
	seen, err = stagesOf(func(p habitat.Progress) error {
		_, err := habitat.Map(t.Context(), s, p)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if want := names(mapWindows(s)); !slices.Equal(seen, want) {
		t.Errorf("elevation alone takes the stages\n%q, foreseen are\n%q", seen, want)
	}
}
