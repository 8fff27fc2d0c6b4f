package habitat

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/fixtures"
	"rillwood/vector"
)

// What makes a map less than it seems is said with it: ground of the area
// without elevation, ground without land cover, heights of unknown unit. A
// legend of one's own is named without the folder it lies in, and its bytes
// are on record.
func TestRunSaysWhatItLacks(t *testing.T) {
	dir := t.TempDir()
	county, err := fixtures.New(120, 100, 10, 7)
	if err != nil {
		t.Fatal(err)
	}
	if err := county.Write(t.Context(), dir, func(string, float64) {}); err != nil {
		t.Fatal(err)
	}
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	run := func(name, text string) *Result {
		t.Helper()
		s, err := LoadSurvey(write(name, text))
		if err != nil {
			t.Fatal(err)
		}
		return mapped(t, s)
	}
	said := func(r *Result, words string) bool {
		return slices.ContainsFunc(r.Summary.Warnings, func(w string) bool { return strings.Contains(w, words) })
	}

	// All land the elevation has, but the legend takes woods for no data.
	legend := "code,name,group\n41,Woods,nodata\n"
	for _, c := range []string{"11", "21", "22", "23", "24", "31", "42", "43", "52", "71", "81", "82", "90", "95"} {
		legend += c + ",Ground " + c + ",broadleaf\n"
	}
	write("own.csv", legend)
	lacks := run("lacks.yaml", "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: own.csv}\noutput: {folder: lacks, layers: none}\n")
	whole := run("whole.yaml", "elevation: {path: elevation.tif, unit: m}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\narea: {path: places.gpkg, layer: boundary}\noutput: {folder: whole, layers: none}\n")
	for _, words := range []string{"no land cover is known on", "metres or feet"} {
		if !said(lacks, words) {
			t.Errorf("no word of %q: %q", words, lacks.Summary.Warnings)
		}
		if said(whole, words) {
			t.Errorf("%q said without need: %q", words, whole.Summary.Warnings)
		}
	}
	record, err := os.ReadFile(filepath.Join(lacks.Folder, recordName))
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(record), dir) {
		t.Errorf("the record names a folder of this machine:\n%s", record)
	}
	if !strings.Contains(string(record), `"role": "legend"`) {
		t.Errorf("the legend is not among the inputs:\n%s", record)
	}

	// An area of twice the elevation's width.
	if said(whole, "has no elevation") {
		t.Errorf("an area inside the elevation: %q", whole.Summary.Warnings)
	}
	to, err := vector.ToWGS84(county.Frame().WKT)
	if err != nil {
		t.Fatal(err)
	}
	w, south, e, n := county.Frame().Bounds()
	var ring []string
	for _, c := range []orb.Point{{w, south}, {2*e - w, south}, {2*e - w, n}, {w, n}, {w, south}} {
		g, err := to.Point(c)
		if err != nil {
			t.Fatal(err)
		}
		ring = append(ring, fmt.Sprintf("[%.8f,%.8f]", g[0], g[1]))
	}
	write("wide.geojson", `{"type":"Feature","properties":{},"geometry":{"type":"Polygon","coordinates":[[`+strings.Join(ring, ",")+`]]}}`)
	wide := run("wide.yaml", "elevation: {path: elevation.tif, unit: m}\nstreams: {path: streams.gpkg}\narea: {path: wide.geojson}\noutput: {layers: none}\n")
	if !said(wide, "50 % of the area has no elevation") {
		t.Errorf("half the area has no elevation: %q", wide.Summary.Warnings)
	}
}

// A setting that changes which streams count makes another run; a picture of
// the run before does not stay beside the results of one that draws none; a
// patch that may be no larger than a cell is refused.
func TestRunsWithOtherSettings(t *testing.T) {
	dir := t.TempDir()
	county, err := fixtures.New(120, 100, 10, 7)
	if err != nil {
		t.Fatal(err)
	}
	if err := county.Write(t.Context(), dir, func(string, float64) {}); err != nil {
		t.Fatal(err)
	}
	survey := func(more string) *Survey {
		s, err := ParseSurvey("s.yaml", []byte("elevation: {path: elevation.tif, unit: m}\n"+more))
		if err != nil {
			t.Fatal(err)
		}
		s.join(dir)
		return s
	}
	id := func() string {
		var r Record
		readJSON(t, filepath.Join(dir, "out", recordName), &r)
		return r.Run
	}
	if _, err := Map(t.Context(), survey("streams: {path: streams.gpkg}\n"), nil); err != nil {
		t.Fatal(err)
	}
	first := id()
	if !fileExists(filepath.Join(dir, "out", "preview.png")) {
		t.Error("no picture was drawn")
	}
	if _, err := Map(t.Context(), survey("streams: {path: streams.gpkg, where: 'StreamOrde > 0'}\noutput: {preview: false}\n"), nil); err != nil {
		t.Fatal(err)
	}
	if id() == first {
		t.Errorf("runs with other streams share the id %s", first)
	}
	if fileExists(filepath.Join(dir, "out", "preview.png")) {
		t.Error("the picture of the run before is still there")
	}
	_, err = Map(t.Context(), survey("frame: {cell: 400}\n"), nil)
	if want := fmt.Sprintf("shortlist.max_ha: 12 ha is less than one cell of the map (400 m, 16 ha, from %q); raise it, or take smaller cells with frame.cell", filepath.Join(dir, "elevation.tif")); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
