package report_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"rillwood/fixtures"
	"rillwood/habitat"
	"rillwood/habitat/results"
)

// county is a small invented county with all its layers, mapped once.
var county = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return "", err
	}
	c, err := fixtures.New(260, 220, 10, 7)
	if err != nil {
		return "", err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return "", err
	}
	text := "name: Larchwood County\nelevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n" +
		"access: [{path: places.gpkg, layer: parks}, {path: places.gpkg, layer: private, status: private}]\n" +
		"approach: {paths: {path: places.gpkg, layer: paths}, roads: {path: places.gpkg, layer: roads}, parking: {path: places.gpkg, layer: parking}, water: {path: places.gpkg, layer: water}}\n" +
		"shortlist: {min_ha: 0.5, explore: 2}\noutput: {folder: out, layers: [access, uncertainty, bottomland, relative-height, brook-height, slope, stream-distance]}\n"
	survey := filepath.Join(dir, "survey.yaml")
	if err := os.WriteFile(survey, []byte(text), 0o644); err != nil {
		return "", err
	}
	s, err := habitat.LoadSurvey(survey)
	if err != nil {
		return "", err
	}
	r, err := habitat.Map(context.Background(), s, nil)
	if err != nil {
		return "", err
	}
	return r.Folder, nil
})

func TestMain(m *testing.M) {
	code := m.Run()
	if dir, err := county(); err == nil {
		os.RemoveAll(filepath.Dir(dir))
	}
	os.Exit(code)
}

// mapped opens the county's run.
func mapped(t *testing.T) *results.Run {
	t.Helper()
	dir, err := county()
	if err != nil {
		t.Fatal(err)
	}
	run, err := results.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(run.Candidates) < 8 || len(run.Ways) == 0 {
		t.Fatalf("the county has %d candidates and %d ways: too few to test with", len(run.Candidates), len(run.Ways))
	}
	return run
}
