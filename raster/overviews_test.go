package raster

import (
	"context"
	"math"
	"path/filepath"
	"testing"
)

// Overviews are read only where that is allowed and cells are averaged; they
// tell the same means of means, since each of theirs is the mean of four.
func TestOverviewsOnlyWhereAllowed(t *testing.T) {
	crs, err := ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	f := Frame{W: 2048, H: 1024, X0: 500000, Y0: 4800000, Cell: 10, WKT: crs.WKT, EPSG: 32616}
	path := filepath.Join(t.TempDir(), "a.tif")
	at := func(x, y int) float32 {
		return float32(math.Sin(float64(x)/30)*math.Cos(float64(y)/20)) + float32((x*7+y*3)%11)/50
	}
	if err := WriteCOG(context.Background(), path, f, TIFFOptions{Workers: 1}, func(y, n int, dst []float32) error {
		for i := range dst[:n*f.W] {
			dst[i] = at(i%f.W, y+i/f.W)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	read := func(to Frame, overviews bool) ([]float32, string) {
		t.Helper()
		plane, err := NewPlane[float32](to.W, to.H, nil)
		if err != nil {
			t.Fatal(err)
		}
		how, err := ReadSurface(context.Background(), Source{Paths: []string{path}, Overviews: overviews}, to, 1, 2, plane, func(float64) {})
		if err != nil {
			t.Fatal(err)
		}
		return plane.Mem(), how
	}
	compare := func(a, b []float32) (same bool, most float64) {
		same = true
		for i := range a {
			same = same && a[i] == b[i]
			most = max(most, math.Abs(float64(a[i]-b[i])))
		}
		return same, most
	}
	// 6.4 cells wide: overviews of 4 cut them otherwise than the cells do.
	coarse := Frame{W: 320, H: 160, X0: f.X0, Y0: f.Y0, Cell: 64, WKT: f.WKT, EPSG: f.EPSG}
	cells, how := read(coarse, false)
	means, _ := read(coarse, true)
	if same, most := compare(cells, means); how != HowAveragedIn || same || most > 0.05 {
		t.Errorf("%s; same %t, at most %g apart", how, same, most)
	}
	// 8 cells wide: means of whole overview cells, the same but for rounding.
	coarse = Frame{W: 256, H: 128, X0: f.X0, Y0: f.Y0, Cell: 80, WKT: f.WKT, EPSG: f.EPSG}
	cells, _ = read(coarse, false)
	means, _ = read(coarse, true)
	if _, most := compare(cells, means); most > 1e-6 {
		t.Errorf("8 cells in one: at most %g apart", most)
	}
	// Cells that are copied or interpolated are the map's own.
	for _, to := range []Frame{f.Cut(100, 50, 300, 200), {W: 300, H: 200, X0: f.X0 + 3, Y0: f.Y0 - 3, Cell: 10, WKT: f.WKT}} {
		cells, how := read(to, false)
		means, _ := read(to, true)
		if same, most := compare(cells, means); !same {
			t.Errorf("%s: %g apart", how, most)
		}
	}
}
