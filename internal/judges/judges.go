// Package judges runs programs from outside the project on its outputs, for
// tests: GDAL's own tools and its check of Cloud Optimized GeoTIFF, and GEOS
// by way of shapely. A judge that is not installed skips the test.
package judges

import (
	_ "embed"
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
)

// COG holds GeoTIFFs against the rules of Cloud Optimized GeoTIFF (OGC 21-026)
// with the validator that comes with GDAL, every tile looked at.
func COG(tb testing.TB, paths ...string) {
	tb.Helper()
	var faults map[string][]string
	runScript(tb, "osgeo_utils.samples.validate_cloud_optimized_geotiff", cogScript, &faults, paths...)
	if len(faults) != len(paths) {
		tb.Errorf("the validator answered for %d of %d files", len(faults), len(paths))
	}
	for path, list := range faults {
		for _, f := range list {
			tb.Errorf("%s: not a Cloud Optimized GeoTIFF: %s", path, f)
		}
	}
}

// Quiet demands that gdalinfo reads a raster whole, or ogrinfo every feature
// of a vector file, without a warning or an error.
func Quiet(tb testing.TB, paths ...string) {
	tb.Helper()
	for _, path := range paths {
		args := []string{"ogrinfo", "-ro", "-al", path}
		if strings.HasSuffix(path, ".tif") {
			args = []string{"gdalinfo", "-checksum", path}
		}
		tool := find(tb, args[0])
		out, err := exec.Command(tool, args[1:]...).CombinedOutput()
		if err != nil {
			tb.Errorf("%s: %v\n%s", strings.Join(args, " "), err, out)
		}
		for line := range strings.Lines(string(out)) {
			if l := strings.ToLower(line); strings.HasPrefix(l, "warning") || strings.HasPrefix(l, "error") {
				tb.Errorf("%s says: %s", strings.Join(args, " "), strings.TrimSpace(line))
			}
		}
	}
}

// Patch is what GEOS and GDAL say of one polygon of a shortlist.
type Patch struct {
	ID       int     `json:"id"`
	Invalid  string  `json:"invalid"`   // why GEOS calls it invalid, "" = valid
	Cells    int     `json:"cells"`     // of the raster, whose centre lies inside
	Mean     float64 `json:"mean"`      // of the raster over these cells
	NoData   int     `json:"nodata"`    // of these cells, without a value
	ShapeHa  float64 `json:"shape_ha"`  // area of the polygon in the raster's own system
	CellsHa  float64 `json:"cells_ha"`  // area of the cells
	Overlaps []int   `json:"overlaps"`  // other polygons that share ground with it
	SharedM2 float64 `json:"shared_m2"` // the most it shares with one of them
}

// Patches lays the polygons of a GeoJSON file over a raster.
func Patches(tb testing.TB, geojson, raster string) []Patch {
	tb.Helper()
	var out []Patch
	runScript(tb, "shapely, numpy, osgeo.gdal", patchScript, &out, geojson, raster)
	return out
}

//go:embed cog.py
var cogScript string

//go:embed patches.py
var patchScript string

// runScript runs a Python script that prints JSON, with a Python that has the
// modules.
func runScript(tb testing.TB, modules, script string, into any, args ...string) {
	tb.Helper()
	var python string
	for _, name := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(name, "-c", "import "+modules).Run() == nil {
			python = name
			break
		}
	}
	if python == "" {
		tb.Skipf("no python3 with %s here: this judge is not heard", modules)
	}
	cmd := exec.Command(python, append([]string{"-c", script}, args...)...)
	var diagnostics strings.Builder
	cmd.Stderr = &diagnostics
	out, err := cmd.Output()
	if err != nil {
		tb.Fatalf("judge failed: %v\n%s", err, diagnostics.String())
	}
	if err := json.Unmarshal(out, into); err != nil {
		tb.Fatalf("judge gave no JSON: %v\n%s%s", err, out, diagnostics.String())
	}
}

func find(tb testing.TB, tool string) string {
	tb.Helper()
	path, err := exec.LookPath(tool)
	if err != nil {
		tb.Skipf("no %s here: this judge is not heard", tool)
	}
	return path
}
