package raster

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/airbusgeo/godal"

	"rillwood/internal/shareddata"
)

func TestDescribeTellsWhatTheFileSays(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"),
		tiff{w: 4, h: 3, geo: northUp(2e6, 7e5, 20), crs: "EPSG:2264", nodata: value(-9999)}, counted[int16](12, 0))
	in, err := Describe(path, "")
	if err != nil {
		t.Fatal(err)
	}
	if in.W != 4 || in.H != 3 || in.Bands != 1 || in.Type != "Int16" || in.Driver != "GTiff" || !in.NorthUp() {
		t.Errorf("got %+v", in)
	}
	if in.NoData == nil || *in.NoData != -9999 {
		t.Errorf("nodata %v, want -9999", in.NoData)
	}
	if in.CRS.EPSG != 2264 || math.Abs(in.CRS.Unit-0.3048006096) > 1e-9 {
		t.Errorf("coordinate system %+v, want EPSG:2264 in US feet", in.CRS)
	}
	if b := in.Bounds(); b != [4]float64{2e6, 7e5 - 60, 2e6 + 80, 7e5} {
		t.Errorf("bounds %v", b)
	}
	over, err := Describe(path, "EPSG:32617")
	if err != nil || over.CRS.EPSG != 32617 {
		t.Errorf("named coordinate system: got %+v (%v)", over.CRS, err)
	}
}

func TestDescribeReadsTheBandsUnit(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "plain.tif"), tiff{w: 2, h: 2, geo: northUp(0, 0, 1), crs: "EPSG:32617"}, counted[float32](4, 0))
	feet := filepath.Join(filepath.Dir(path), "feet.vrt.tif")
	ds, err := godal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer ds.Close()
	// A unit can only be given through a virtual dataset's text.
	name := vsimem("feet.vrt")
	v, err := ds.Translate(name, []string{"-of", "VRT"})
	if err != nil {
		t.Fatal(err)
	}
	v.Close()
	defer godal.VSIUnlink(name)
	f, err := godal.VSIOpen(name)
	if err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 1<<16)
	n, _ := f.Read(buf)
	f.Close()
	text := strings.Replace(string(buf[:n]), `band="1">`, `band="1"><UnitType>US survey foot</UnitType>`, 1)
	w, err := godal.Open(text, godal.Drivers("VRT"))
	if err != nil {
		t.Fatal(err)
	}
	defer w.Close()
	out, err := w.Translate(feet, []string{"-of", "GTiff"})
	if err != nil {
		t.Fatal(err)
	}
	out.Close()
	for p, want := range map[string]string{path: "", feet: "US survey foot"} {
		in, err := Describe(p, "")
		if err != nil || in.Unit != want {
			t.Errorf("%s: unit %q (%v), want %q", filepath.Base(p), in.Unit, err, want)
		}
	}
}

func TestDescribeRefusesWhatCannotServe(t *testing.T) {
	dir := t.TempDir()
	cells := counted[float32](4, 0)
	at := northUp(0, 0, 10)
	for _, c := range []struct {
		name string
		o    tiff
		crs  string
		says string
	}{
		{"no coordinate system", tiff{w: 2, h: 2, geo: at}, "", "declares no coordinate system"},
		{"no position", tiff{w: 2, h: 2, crs: "EPSG:32617"}, "", "no position on the ground"},
		{"no extent", tiff{w: 2, h: 2, geo: [6]float64{5, 0, 0, 5, 0, 0}, crs: "EPSG:32617"}, "", "cells of no size"},
		{"nameless system given", tiff{w: 2, h: 2, geo: at}, "UTM 17", "want EPSG:number or WKT"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := makeTIFF(t, filepath.Join(dir, strings.ReplaceAll(c.name, " ", "-")+".tif"), c.o, cells)
			_, err := Describe(path, c.crs)
			if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), filepath.Base(path)) {
				t.Errorf("got %v, want the file's name and %q", err, c.says)
			}
		})
	}
}

// Broken and odd files of GDAL's own test suite and of rasterio's: each is
// described or refused in one line.
func TestDescribeSurvivesBrokenFiles(t *testing.T) {
	dir := shareddata.Path(t, "realdata", "robustness", "raster")
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	described := 0
	for _, e := range entries {
		in, err := Describe(filepath.Join(dir, e.Name()), "")
		switch {
		case err == nil:
			described++
			if in.W < 1 || in.H < 1 || in.CRS.WKT == "" {
				t.Errorf("%s: described as %+v", e.Name(), in)
			}
		case strings.Contains(err.Error(), "\n") || !strings.Contains(err.Error(), e.Name()):
			t.Errorf("%s: error %q, want one line that names the file", e.Name(), err)
		}
	}
	if described == 0 {
		t.Error("no file of the corpus could be described")
	}
}

func TestExpandNamesFilesFoldersAndPatterns(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"b.tif", "a.TIF", "c.img", "notes.txt", "b.tif.aux.xml"} {
		if err := os.WriteFile(filepath.Join(dir, n), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	in := func(names ...string) (out []string) {
		for _, n := range names {
			out = append(out, filepath.Join(dir, n))
		}
		return out
	}
	for _, c := range []struct {
		name        string
		given, want []string
	}{
		{"folder", []string{dir}, in("a.TIF", "b.tif", "c.img")},
		{"pattern", in("*.tif"), in("b.tif")},
		{"list, one twice", in("c.img", "b.tif", "c.img"), in("b.tif", "c.img")},
		{"folder and pattern", append(in("?.tif"), dir), in("a.TIF", "b.tif", "c.img")},
		{"a missing file is left to be told when opened", in("gone.tif"), in("gone.tif")},
	} {
		got, err := Expand(c.given)
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: got %v (%v), want %v", c.name, got, err, c.want)
		}
	}
	empty := t.TempDir()
	for _, bad := range []string{empty, filepath.Join(dir, "*.hgt"), filepath.Join(dir, "[")} {
		if got, err := Expand([]string{bad}); err == nil {
			t.Errorf("%q gives %v, want an error", bad, got)
		}
	}
}
