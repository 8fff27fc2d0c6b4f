package habitat

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rillwood/internal/judges"
	"rillwood/raster"
)

// Workers, tiles and planes in files instead of memory change speed, never a byte.
func TestSameInputsSameBytes(t *testing.T) {
	sameBytes(t, inventedSurvey(t), []setting{{1, defaultTile, 0}, {4, defaultTile, 0}, {3, 64, 0}, {1, 37, 0}, {2, 100, littleMemory}})
}

type setting struct {
	workers, tile int
	memory        ByteSize
}

// littleMemory is the least that is taken: no plane fits.
const littleMemory = 64 << 20

func sameBytes(t *testing.T, s *Survey, settings []setting) {
	t.Helper()
	var first map[string][]byte
	for _, with := range settings {
		s.Run.Workers, s.Run.Memory = with.workers, with.memory
		if inFiles := planMemory(raster.Frame{W: 100, H: 100}, s).scratch != ""; inFiles != (with.memory != 0) {
			t.Fatalf("%+v: planes in files: %v", with, inFiles)
		}
		s.Output.Folder = filepath.Join(t.TempDir(), fmt.Sprint("out", with.workers))
		if _, err := mapTiled(t.Context(), s, with.tile, nil); err != nil {
			t.Fatal(err)
		}
		files, err := readFiles(s.Output.Folder)
		if err != nil {
			t.Fatal(err)
		}
		if left, _ := filepath.Glob(filepath.Join(s.Output.Folder, ".*")); len(left) > 0 {
			t.Errorf("%+v: left behind %q", with, left)
		}
		if first == nil {
			first = files
			continue
		}
		if a, b := slices.Sorted(maps.Keys(first)), slices.Sorted(maps.Keys(files)); !slices.Equal(a, b) {
			t.Errorf("%+v: files %v, the first run wrote %v", with, b, a)
		}
		for name, data := range files {
			if !bytes.Equal(data, first[name]) {
				t.Errorf("%+v: %s has other bytes than with %+v", with, name, settings[0])
			}
		}
	}
}

// A second run into the same folder leaves its own files and no others.
func TestRunReplacesTheOneBefore(t *testing.T) {
	s := inventedSurvey(t)
	first, err := readFiles(mapped(t, s).Folder)
	if err != nil {
		t.Fatal(err)
	}
	folder := s.Output.Folder
	s.Output.Layers = []string{"height"}
	if _, err := Map(t.Context(), s, nil); err != nil {
		t.Fatal(err)
	}
	second, err := readFiles(folder)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"layers/height.tif", "preview.png", "relief.tif", "report.html", "run.json", "shortlist.geojson", "streams.gpkg", "suitability.tif"}
	if got := slices.Sorted(maps.Keys(second)); !slices.Equal(got, want) {
		t.Errorf("after a run with one layer: %v, want %v", got, want)
	}
	if bytes.Equal(first["run.json"], second["run.json"]) {
		t.Error("the record is still that of the first run")
	}
}

func TestWithoutLandCoverTheRunSaysSo(t *testing.T) {
	s := inventedSurvey(t)
	s.LandCover = DefaultSurvey().LandCover
	s.Output.Layers = []string{"none"}
	r := mapped(t, s)
	said(t, r, "no land cover was given")
	if r.Summary.LandCover == "" || !strings.HasPrefix(r.Summary.LandCover, "none") {
		t.Errorf("land cover in the summary: %q", r.Summary.LandCover)
	}
}

func TestWithoutStreamsTheRunSaysSo(t *testing.T) {
	s := inventedSurvey(t)
	s.Streams = DefaultSurvey().Streams
	s.Streams.ThresholdKm2 = 0.2
	s.Output.Layers = []string{"none"}
	r := mapped(t, s)
	said(t, r, "no stream layer was given")
	if !strings.HasPrefix(r.Summary.Streams, "drawn from the elevation") {
		t.Errorf("streams in the summary: %q", r.Summary.Streams)
	}
}

// said demands words among the warnings of the run, its text and its record.
func said(t *testing.T, r *Result, words string) {
	t.Helper()
	if !slices.ContainsFunc(r.Summary.Warnings, func(w string) bool { return strings.Contains(w, words) }) {
		t.Errorf("%q is not among the warnings: %q", words, r.Summary.Warnings)
	}
	if text := strings.Join(strings.Fields(r.Text()), " "); !strings.Contains(text, words) {
		t.Errorf("%q is not in the text:\n%s", words, text)
	}
	var rec Record
	readJSON(t, filepath.Join(r.Folder, recordName), &rec)
	if !slices.ContainsFunc(rec.Warnings, func(w string) bool { return strings.Contains(w, words) }) {
		t.Errorf("%q is not in run.json: %q", words, rec.Warnings)
	}
}

func TestOutsideJudgesOnASmallCounty(t *testing.T) {
	r := mapped(t, inventedSurvey(t))
	if len(r.Shortlist.Candidates) < 2 {
		t.Fatalf("%d candidates: too few to judge by", len(r.Shortlist.Candidates))
	}
	judged(t, r)
}

// judged hears every outside judge on the files of a run.
func judged(t *testing.T, r *Result) {
	var tifs []string
	files, err := readFiles(r.Folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if strings.HasSuffix(name, ".tif") {
			tifs = append(tifs, filepath.Join(r.Folder, filepath.FromSlash(name)))
		}
	}
	if len(tifs) < 2 {
		t.Fatalf("%d rasters written", len(tifs))
	}
	list := filepath.Join(r.Folder, "shortlist.geojson")
	t.Run("cloud optimized geotiff", func(t *testing.T) { judges.COG(t, tifs...) })
	t.Run("gdal tools", func(t *testing.T) {
		hosts := 0
		alike := slices.DeleteFunc(slices.Clone(tifs), func(path string) bool {
			host := strings.HasPrefix(filepath.Base(path), "host-")
			if host {
				hosts++
			}
			return host && hosts > 1 // written alike: one of them speaks for all
		})
		judges.Quiet(t, append(alike, list)...)
	})
	t.Run("rfc 7946", func(t *testing.T) { checkRFC7946(t, list) })
	t.Run("patches", func(t *testing.T) {
		checkPatches(t, r, judges.Patches(t, list, filepath.Join(r.Folder, "suitability.tif")))
	})
}

func checkPatches(t *testing.T, r *Result, patches []judges.Patch) {
	if len(patches) != len(r.Shortlist.Candidates) {
		t.Fatalf("%d polygons for %d candidates", len(patches), len(r.Shortlist.Candidates))
	}
	var list shortlistFile
	readJSON(t, filepath.Join(r.Folder, "shortlist.geojson"), &list)
	worstMean, worstArea, shared, sumShape, sumCells := 0.0, 0.0, 0.0, 0.0, 0.0
	for i, p := range patches {
		said := list.Features[i].Properties
		if p.Invalid != "" {
			t.Errorf("patch %d: GEOS calls it invalid: %s", p.ID, p.Invalid)
		}
		if len(p.Overlaps) > 0 {
			t.Errorf("patch %d shares up to %.4f m² with %v", p.ID, p.SharedM2, p.Overlaps)
		}
		// Each cell of the patch has its centre inside the outline and no other
		// has, so cells and outline agree to the cell.
		if d := p.CellsHa - said.AreaHa; d > 1e-3 || d < -1e-3 {
			t.Errorf("patch %d: area_ha %.4f, its %d cells have %.4f ha", p.ID, said.AreaHa, p.Cells, p.CellsHa)
		}
		// The outline may leave the cells by half a cell, which counts for more
		// the fewer they are: 3 ha are 33 cells of 30 m.
		sumShape, sumCells = sumShape+p.ShapeHa, sumCells+p.CellsHa
		if said.AreaHa > 3 {
			off := math.Abs(p.ShapeHa/said.AreaHa - 1)
			worstArea = max(worstArea, off)
			if cells := off * float64(p.Cells); off > 0.02 && cells > 2.5 {
				t.Errorf("patch %d: area_ha %.4f, its outline has %.4f ha, %.1f cells off", p.ID, said.AreaHa, p.ShapeHa, cells)
			}
		}
		if p.NoData > 0 {
			t.Errorf("patch %d holds %d cells without a value", p.ID, p.NoData)
		}
		d := max(p.Mean-said.Mean, said.Mean-p.Mean)
		if d > 0.002 {
			t.Errorf("patch %d: suitability_mean %.4f, over the raster %.4f", p.ID, said.Mean, p.Mean)
		}
		worstMean, shared = max(worstMean, d), max(shared, p.SharedM2)
	}
	all := sumShape/sumCells - 1
	if math.Abs(all) > 0.01 {
		t.Errorf("the outlines together have %.4f ha, their cells %.4f: drawn with a lean", sumShape, sumCells)
	}
	t.Logf("%d patches valid; suitability_mean off by at most %.5f; outlines off by %+.2f %% together, over 3 ha by at most %.2f %%; shared ground at most %.2g m²",
		len(patches), worstMean, 100*all, 100*worstArea, shared)
}
