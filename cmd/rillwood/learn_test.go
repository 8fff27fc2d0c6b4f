package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"rillwood/habitat"
)

// learned parses arguments as the program does and runs the command.
func learned(t *testing.T, args ...string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	var l learnCmd
	parser, err := kong.New(&l, kong.Name("learn"), kong.Exit(func(int) {}))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parser.Parse(args); err != nil {
		return "", err
	}
	err = l.Run(&console{ctx: t.Context(), out: &out, err: &out})
	return out.String(), err
}

// An invented county is mapped and its geology taught; the new profile makes a
// map.
func TestLearnFromLayer(t *testing.T) {
	files, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	survey := filepath.Join(dir, "survey.yaml")
	text := "elevation: {path: elevation.tif, unit: m}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n" +
		"shortlist: {min_ha: 0.2, threshold: 0.3}\noutput: {preview: false, layers: [bottomland, relative-height, brook-height, slope, stream-distance]}\n"
	if err := os.WriteFile(survey, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := habitat.LoadSurvey(survey)
	if err != nil {
		t.Fatal(err)
	}
	r, err := habitat.Map(t.Context(), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	soils, mine := filepath.Join(dir, "soils.gpkg"), filepath.Join(dir, "mine.yaml")
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"no run", []string{dir, "--from-layer", soils, "--inside", "--out", mine}, "holds no run.json"},
		{"no layer", []string{r.Folder, "--out", mine}, "--from-layer"},
		{"no out", []string{r.Folder, "--from-layer", soils, "--inside"}, "--out"},
		{"out is there", []string{r.Folder, "--from-layer", soils, "--inside", "--out", survey}, "is there already"},
		{"no block", []string{r.Folder, "--from-layer", soils, "--inside", "--block", "0", "--out", mine}, "--block"},
		{"which", []string{r.Folder, "--from-layer", soils, "--out", mine}, "--field UNIT"},
	} {
		if out, err := learned(t, c.args...); err == nil || !strings.Contains(err.Error(), c.want) || out != "" {
			t.Errorf("%s: %q, %v; want an error with %q", c.name, out, err, c.want)
		}
	}
	args := []string{r.Folder, "--from-layer", filepath.Join(dir, "floodzones.gpkg"), "--field", "FLD_ZONE", "--values", "A,AE,AO,AH", "--block", "0.2"}
	out, err := learned(t, append(args, "--out", mine)...)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out, "weight_slope") || !strings.Contains(out, "wrote "+mine) || !strings.Contains(out, "AUC before") {
		t.Errorf("printed %s", out)
	}
	p, err := habitat.LoadProfile(mine)
	if err != nil {
		t.Fatal(err)
	}
	if p.Posterior == nil || len(p.Provenance) < 2 {
		t.Errorf("posterior %v, provenance %q", p.Posterior, p.Provenance)
	}
	if out, err = learned(t, append(args, "--json", "--out", filepath.Join(dir, "other.yaml"))...); err != nil {
		t.Fatal(err)
	}
	var answer struct {
		Profile string
		Cells   int
		Weights []struct{ Name string }
		Halves  []struct {
			AUC float64 `json:"auc_fitted"`
		}
	}
	if err := json.Unmarshal([]byte(out), &answer); err != nil || answer.Cells == 0 || len(answer.Weights) != 5 || len(answer.Halves) != 2 || !(answer.Halves[0].AUC > 0.5) {
		t.Errorf("JSON %s: %v", out, err)
	}
	s.Profile, s.Output.Folder = mine, filepath.Join(dir, "again")
	if _, err := habitat.Map(t.Context(), s, nil); err != nil {
		t.Error(err)
	}
}
