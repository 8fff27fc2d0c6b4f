package raster

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/airbusgeo/godal"
)

var nan32 = float32(math.NaN())

// tiff describes a GeoTIFF made for a test.
type tiff struct {
	w, h   int
	geo    [6]float64
	crs    string // "EPSG:n", "" for none
	nodata *float64
}

// northUp is the transform of square cells with this north-west corner.
func northUp(x, y, cell float64) [6]float64 { return [6]float64{x, cell, 0, y, 0, -cell} }

func value(v float64) *float64 { return &v }

// makeTIFF writes the cells, uncompressed in strips, and gives the path.
func makeTIFF[T Elem](t *testing.T, path string, o tiff, cells []T) string {
	t.Helper()
	if err := Setup(); err != nil {
		t.Fatal(err)
	}
	ds, err := godal.Create(godal.GTiff, path, 1, dataType[T](), o.w, o.h, godal.CreationOption("BLOCKYSIZE=4"))
	if err != nil {
		t.Fatal(err)
	}
	if o.geo != [6]float64{} {
		if err := ds.SetGeoTransform(o.geo); err != nil {
			t.Fatal(err)
		}
	}
	if o.crs != "" {
		if err := ds.SetProjection(wktOf(t, o.crs)); err != nil {
			t.Fatal(err)
		}
	}
	if o.nodata != nil {
		if err := ds.SetNoData(*o.nodata); err != nil {
			t.Fatal(err)
		}
	}
	if err := ds.Write(0, 0, cells, o.w, o.h); err != nil {
		t.Fatal(err)
	}
	if err := ds.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func wktOf(t *testing.T, crs string) string {
	t.Helper()
	c, err := ParseCRS(crs)
	if err != nil {
		t.Fatal(err)
	}
	return c.WKT
}

// utm17 is a frame of the UTM zone most tests work in.
func utm17(t *testing.T, w, h int, x, y, cell float64) Frame {
	t.Helper()
	return Frame{W: w, H: h, X0: x, Y0: y, Cell: cell, WKT: wktOf(t, "EPSG:32617"), EPSG: 32617, Name: "WGS 84 / UTM zone 17N"}
}

// counted gives n cells 0, 1, 2 … plus first.
func counted[T Elem](n int, first T) []T {
	out := make([]T, n)
	for i := range out {
		out[i] = first + T(i)
	}
	return out
}

// surface reads the source onto the frame on two workers.
func surface(t *testing.T, s Source, f Frame, factor float64) ([]float32, string) {
	t.Helper()
	p := PlaneOf(f.W, f.H, make([]float32, f.Cells()))
	how, err := ReadSurface(t.Context(), s, f, factor, 2, p, func(float64) {})
	if err != nil {
		t.Fatal(err)
	}
	return p.Mem(), how
}

// sameSurface reports cells off by more than tol; NaN equals NaN.
func sameSurface(t *testing.T, got, want []float32, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d cells, want %d", len(got), len(want))
	}
	for i := range got {
		g, w := float64(got[i]), float64(want[i])
		if (g != g) != (w != w) || math.Abs(g-w) > tol {
			t.Errorf("cell %d: got %v, want %v", i, g, w)
		}
	}
}

// onlyFiles reports anything in the folder besides the names.
func onlyFiles(t *testing.T, dir string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	left := map[string]bool{}
	for _, n := range names {
		left[n] = true
	}
	for _, e := range entries {
		if !left[e.Name()] {
			t.Errorf("%q was left behind", filepath.Join(dir, e.Name()))
		}
		delete(left, e.Name())
	}
	for n := range left {
		t.Errorf("%q is missing", filepath.Join(dir, n))
	}
}
