package habitat

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rillwood/internal/shareddata"
)

// Broken, odd and hostile files of the GDAL, rasterio and geojsonhint test
// suites, each taken for the elevation, the land cover, the streams or the
// area of a run: it ends soon, with results or with one line, and a run that
// fails writes nothing.
func TestRealHostileFiles(t *testing.T) {
	root := shareddata.Path(t, "realdata", "robustness")
	layers := map[string][]string{}
	for folder, endings := range map[string][]string{
		"raster": {".tif", ".img", ".asc", ".vrt", ".hgt", ".bil", ".png"}, "vector": {".gpkg", ".shp", ".geojson", ".json"}, "geojson-bad": {".geojson", ".json"},
	} {
		err := filepath.WalkDir(filepath.Join(root, folder), func(path string, d os.DirEntry, err error) error {
			if err == nil && !d.IsDir() && slices.Contains(endings, strings.ToLower(filepath.Ext(path))) {
				kind := "vector"
				if folder == "raster" {
					kind = "raster"
				}
				layers[kind] = append(layers[kind], path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	whole := inventedSurvey(t)
	ran, refused, large := 0, 0, 0
	try := func(role, path string, change func(s *Survey)) {
		s := *whole
		s.Output = OutputSpec{Folder: filepath.Join(t.TempDir(), "out"), Layers: []string{"none"}}
		s.Frame.Collar = 0
		change(&s)
		ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
		defer cancel()
		start := time.Now()
		in, err := OpenInputs(ctx, &s)
		if err == nil && in.Frame.Cells() > 1e6 {
			large++
			return // a map of many cells is made well or ill elsewhere
		}
		_, err = Map(ctx, &s, nil)
		if took := time.Since(start); took > 20*time.Second {
			t.Errorf("%s as %s: took %.0f s", filepath.Base(path), role, took.Seconds())
		}
		files, rerr := readFiles(filepath.Dir(s.Output.Folder))
		if rerr != nil {
			t.Fatal(rerr)
		}
		if err == nil {
			ran++
			if len(files) < 3 {
				t.Errorf("%s as %s: no error and only %d files", filepath.Base(path), role, len(files))
			}
			return
		}
		refused++
		if msg := err.Error(); strings.ContainsAny(msg, "\n\r\t\x00") || len(msg) > 900 || len(msg) < 15 {
			t.Errorf("%s as %s: %q is not one clear line", filepath.Base(path), role, msg)
		}
		if len(files) > 0 {
			t.Errorf("%s as %s: failed and yet wrote %d files", filepath.Base(path), role, len(files))
		}
	}
	for _, path := range layers["raster"] {
		try("elevation", path, func(s *Survey) {
			s.Elevation.Path, s.Streams.Path, s.LandCover = []string{path}, nil, DefaultSurvey().LandCover
		})
		try("land cover", path, func(s *Survey) { s.LandCover.Path = []string{path} })
	}
	for _, path := range layers["vector"] {
		try("streams", path, func(s *Survey) { s.Streams.Path = []string{path} })
		try("area", path, func(s *Survey) { s.Area.Path = path })
	}
	t.Logf("%d rasters and %d vector files: %d runs gave results, %d were refused, %d would be too large to try", len(layers["raster"]), len(layers["vector"]), ran, refused, large)
	if refused < 20 {
		t.Errorf("only %d refused: the files are not what they were", refused)
	}
}
