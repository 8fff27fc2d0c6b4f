package habitat

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"rillwood/fixtures"
	"rillwood/raster"
)

// inventedLayers are the files of a small invented county, made once.
var inventedLayers = sync.OnceValues(func() (map[string][]byte, error) {
	dir, err := os.MkdirTemp("", "county")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	c, err := fixtures.New(200, 160, 10, 7)
	if err != nil {
		return nil, err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return nil, err
	}
	return readFiles(dir)
})

// inventedSurvey is a survey of the small county, in a folder of its own, on
// the whole elevation.
func inventedSurvey(t *testing.T) *Survey {
	t.Helper()
	files, err := inventedLayers()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	file := filepath.Join(dir, "survey.yaml")
	text := "name: Small county\nelevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\n" +
		"landcover: {path: landcover.tif, legend: us-30m}\nshortlist: {min_ha: 0.5}\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := LoadSurvey(file)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// mapped runs a survey into a fresh folder.
func mapped(t *testing.T, s *Survey) *Result {
	t.Helper()
	s.Output.Folder = filepath.Join(t.TempDir(), "out")
	r, err := Map(t.Context(), s, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// readFiles reads every file below a folder, by slashed path.
func readFiles(dir string) (map[string][]byte, error) {
	files := map[string][]byte{}
	return files, filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		files[filepath.ToSlash(name)], err = os.ReadFile(path)
		return err
	})
}

// written reads a raster that a run wrote, NaN = no value.
func written(t *testing.T, path string) (raster.Frame, []float32) {
	t.Helper()
	i, err := raster.Describe(path, "")
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{W: i.W, H: i.H, X0: i.Geo[0], Y0: i.Geo[3], Cell: i.Geo[1], WKT: i.CRS.WKT, EPSG: i.CRS.EPSG, Name: i.CRS.Name}
	p, err := raster.NewPlane[float32](f.W, f.H, nil)
	if err != nil {
		t.Fatal(err)
	}
	how, err := raster.ReadSurface(t.Context(), raster.Source{Paths: []string{path}}, f, 1, 2, p, func(float64) {})
	if err != nil {
		t.Fatal(err)
	}
	if how != raster.HowCopied {
		t.Fatalf("%s came %s onto its own grid", path, how)
	}
	return f, p.Mem()
}

// classesOn lands a class raster on a frame as the program does it, with its
// codes as they are; 255 = none.
func classesOn(t *testing.T, f raster.Frame, path string) []uint8 {
	t.Helper()
	var index [65536]uint8
	for code := range index {
		index[code] = uint8(min(code, coverNone))
	}
	p, err := raster.NewPlane[uint8](f.W, f.H, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := raster.ReadClasses(t.Context(), raster.Source{Paths: []string{path}}, f, &index, coverNone, 2, p, func(float64) {}); err != nil {
		t.Fatal(err)
	}
	return p.Mem()
}
