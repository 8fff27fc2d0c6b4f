package habitat

import (
	"context"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// A run stopped in any of its stages leaves the results of the one before
// byte for byte, and nothing of its own.
func TestStoppedRunLeavesEarlierResults(t *testing.T) {
	s := inventedSurvey(t)
	s.Output.Layers = []string{"height"}
	s.Run.Workers, s.Run.Memory = 2, littleMemory // planes in files, which have to go too
	r := mapped(t, s)
	before, err := readFiles(r.Folder)
	if err != nil {
		t.Fatal(err)
	}
	var stages []string
	if _, err := Map(t.Context(), s, func(stage string, _ float64) {
		if !slices.Contains(stages, stage) {
			stages = append(stages, stage)
		}
	}); err != nil {
		t.Fatal(err)
	}
	if len(stages) < 8 {
		t.Fatalf("only the stages %q", stages)
	}
	s.Shortlist.Threshold = 0.4 // other results, if they were written
	for _, stop := range stages {
		ctx, cancel := context.WithCancel(t.Context())
		_, err := Map(ctx, s, func(stage string, _ float64) {
			if stage == stop {
				cancel()
			}
		})
		cancel()
		if !errors.Is(err, context.Canceled) {
			t.Errorf("stopped while %s: %v", stop, err)
		}
		after, err := readFiles(r.Folder)
		if err != nil {
			t.Fatal(err)
		}
		if !maps.EqualFunc(before, after, slices.Equal[[]byte]) {
			t.Errorf("stopped while %s: the results are not as they were: %v", stop, slices.Sorted(maps.Keys(after)))
		}
		if left, _ := filepath.Glob(filepath.Join(r.Folder, ".*")); len(left) > 0 {
			t.Errorf("stopped while %s: left behind %q", stop, left)
		}
	}
}

// Results never take the place of what is read, nor of a folder.
func TestResultsKeepOffOtherFiles(t *testing.T) {
	for _, c := range []struct {
		name    string
		prepare func(t *testing.T, s *Survey)
		want    string
	}{
		{"the elevation has the name of a result", func(t *testing.T, s *Survey) {
			moved := filepath.Join(filepath.Dir(s.File), "suitability.tif")
			if err := os.Rename(s.Elevation.Path[0], moved); err != nil {
				t.Fatal(err)
			}
			s.Elevation.Path[0], s.Output.Folder = moved, filepath.Dir(moved)
		}, "would overwrite"},
		{"the land cover is a layer of the run before", func(t *testing.T, s *Survey) {
			s.Output.Folder = filepath.Join(filepath.Dir(s.File), "out")
			at := filepath.Join(s.Output.Folder, "layers", "host-american-elm.tif")
			if err := os.MkdirAll(filepath.Dir(at), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.Symlink(s.LandCover.Path[0], at); err != nil {
				t.Fatal(err)
			}
		}, "would overwrite"},
		{"a folder has the name of a result", func(t *testing.T, s *Survey) {
			s.Output.Folder = filepath.Join(filepath.Dir(s.File), "out")
			if err := os.MkdirAll(filepath.Join(s.Output.Folder, "preview.png"), 0o755); err != nil {
				t.Fatal(err)
			}
		}, "is a folder"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := inventedSurvey(t)
			c.prepare(t, s)
			before, err := readFiles(filepath.Dir(s.File))
			if err != nil {
				t.Fatal(err)
			}
			_, err = Map(t.Context(), s, nil)
			if err == nil || !strings.HasPrefix(err.Error(), "output.folder: ") || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one of output.folder with %q", err, c.want)
			}
			after, err := readFiles(filepath.Dir(s.File))
			if err != nil {
				t.Fatal(err)
			}
			if !maps.EqualFunc(before, after, slices.Equal[[]byte]) {
				t.Error("files were changed")
			}
		})
	}
}
