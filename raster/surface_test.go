package raster

import (
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func TestSurfaceOnItsOwnGridIsCopied(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 6, h: 5, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617"}, counted[float32](30, 100))
	// The frame is shifted by one cell each way and reaches beyond.
	f := utm17(t, 7, 5, 500000-10, 4e6-10, 10)
	got, how := surface(t, Source{Paths: []string{path}}, f, 1)
	if how != HowCopied {
		t.Errorf("landed %q, want %q", how, HowCopied)
	}
	var want []float32
	for y := range 5 {
		for x := range 7 {
			v := nan32
			if x >= 1 && y < 4 {
				v = float32(100 + (y+1)*6 + x - 1)
			}
			want = append(want, v)
		}
	}
	sameSurface(t, got, want, 0)
	in, err := Describe(path, "")
	if err != nil {
		t.Fatal(err)
	}
	if l := Landing(in, f, true); l != how {
		t.Errorf("told beforehand: %q, was %q", l, how)
	}
}

func TestSurfaceInFeet(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 2, h: 2, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: value(-9999)}, []float32{1000, 2000, -9999, 14000})
	got, _ := surface(t, Source{Paths: []string{path}}, utm17(t, 2, 2, 0, 0, 10), 0.3048)
	sameSurface(t, got, []float32{304.8, 609.6, nan32, 4267.2}, 1e-3)
}

func TestSurfaceNoDataMarks(t *testing.T) {
	const big = 3.4028234663852886e38 // the largest float32
	inf := float32(math.Inf(1))
	for _, c := range []struct {
		name     string
		mark     float32
		declared *float64
		override *float64
	}{
		{"NaN declared", nan32, value(math.NaN()), nil},
		{"NaN not declared", nan32, nil, nil},
		{"-9999 declared", -9999, value(-9999), nil},
		{"-9999 told by the user", -9999, nil, value(-9999)},
		{"largest float declared", big, value(big), nil},
		{"largest float not declared", big, nil, nil},
		{"smallest float declared", -big, value(-big), nil},
		{"infinity declared", inf, value(math.Inf(1)), nil},
		{"infinity not declared", -inf, nil, nil},
		{"zero declared", 0, value(0), nil},
		{"the file declares the wrong one", -32768, value(0), value(-32768)},
	} {
		t.Run(c.name, func(t *testing.T) {
			cells := counted[float32](64, 200)
			for _, i := range []int{0, 27, 28} {
				cells[i] = c.mark
			}
			path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 8, h: 8, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: c.declared}, cells)
			s := Source{Paths: []string{path}, NoData: c.override}
			for _, cell := range []float64{10, 10.5, 20} { // copied, bilinear, averaged
				n := int(80 / cell)
				got, how := surface(t, s, utm17(t, n, n, 0, 0, cell), 1)
				missing := 0
				for i, v := range got {
					if v != v {
						missing++
					} else if v < 200 || v > 263 {
						t.Errorf("%s: cell %d is %v, the ground lies between 200 and 263", how, i, v)
					}
				}
				if cell == 10 && missing != 3 {
					t.Errorf("%s: %d cells missing, want 3", how, missing)
				}
				if missing == len(got) {
					t.Errorf("%s: all cells missing", how)
				}
			}
		})
	}
}

func TestSurfaceSouthUp(t *testing.T) {
	// Row 0 is the south: the cell size runs north.
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 3, h: 4, geo: [6]float64{0, 10, 0, -40, 0, 10}, crs: "EPSG:32617"}, counted[float32](12, 0))
	got, how := surface(t, Source{Paths: []string{path}}, utm17(t, 3, 4, 0, 0, 10), 1)
	if how != HowResampled {
		t.Errorf("landed %q, want %q", how, HowResampled)
	}
	sameSurface(t, got, []float32{9, 10, 11, 6, 7, 8, 3, 4, 5, 0, 1, 2}, 1e-4)
}

// quarters makes four tiles of one inclined plane, z = x + 2y in cells.
func quarters(t *testing.T, dir string, crs string) (paths []string) {
	for ty := range 2 {
		for tx := range 2 {
			var cells []float32
			for y := range 10 {
				for x := range 10 {
					cells = append(cells, float32(tx*10+x+2*(ty*10+y)))
				}
			}
			paths = append(paths, makeTIFF(t, filepath.Join(dir, fmt.Sprintf("q%d%d.tif", ty, tx)),
				tiff{w: 10, h: 10, geo: northUp(500000+float64(100*tx), 4e6-float64(100*ty), 10), crs: crs, nodata: value(-9999)}, cells))
		}
	}
	return paths
}

func TestTilesAreMosaicked(t *testing.T) {
	dir := t.TempDir()
	list := quarters(t, dir, "EPSG:32617")
	f := utm17(t, 20, 20, 500000, 4e6, 10)
	var want []float32
	for i := range 400 {
		want = append(want, float32(i%20+2*(i/20)))
	}
	for name, given := range map[string][]string{"list": list, "folder": {dir}, "pattern": {filepath.Join(dir, "q*.tif")}} {
		t.Run(name, func(t *testing.T) {
			paths, err := Expand(given)
			if err != nil {
				t.Fatal(err)
			}
			got, how := surface(t, Source{Paths: paths}, f, 1)
			if how != HowCopied {
				t.Errorf("landed %q, want %q", how, HowCopied)
			}
			sameSurface(t, got, want, 0)
		})
	}
	// Between the tiles the resampling must not see a seam: bilinear is exact on a plane.
	shifted := utm17(t, 18, 18, 500000+12.5, 4e6-12.5, 10)
	got, _ := surface(t, Source{Paths: list}, shifted, 1)
	for i, v := range got {
		x, y := float64(i%18)+1.25, float64(i/18)+1.25
		if math.Abs(float64(v)-(x+2*y)) > 1e-3 {
			t.Fatalf("cell %d: got %v, want %v", i, v, x+2*y)
		}
	}
}

func TestTilesOfTwoCoordinateSystemsAreMosaicked(t *testing.T) {
	dir := t.TempDir()
	flat := func(name, crs string, x float64, v float32) string {
		return makeTIFF(t, filepath.Join(dir, name), tiff{w: 20, h: 20, geo: northUp(x, 4e6, 100), crs: crs, nodata: value(-9999)}, slices.Repeat([]float32{v}, 400))
	}
	// 78° W is the seam of zones 17 and 18, where easting is about 770 km in
	// the one and 230 km in the other at this latitude.
	xs, ys := []float64{768000}, []float64{4e6}
	if _, err := TransformPoints(xs, ys, wktOf(t, "EPSG:32617"), wktOf(t, "EPSG:32618")); err != nil {
		t.Fatal(err)
	}
	west := flat("a17.tif", "EPSG:32617", 767000, 100)
	east := flat("b18.tif", "EPSG:32618", math.Round(xs[0]/100)*100, 200)
	f := utm17(t, 26, 10, 767000, 4e6-500, 100)
	first := func(paths ...string) []float32 {
		got, _ := surface(t, Source{Paths: paths}, f, 1)
		return got
	}
	got := first(west, east)
	for i, v := range got {
		want := float32(100)
		if i%26 >= 20 {
			want = 200 // beyond the western tile
		}
		if v != want {
			t.Fatalf("cell %d,%d: got %v, want %v", i%26, i/26, v, want)
		}
	}
	// Where they overlap the first wins.
	if got := first(east, west); got[3*26+15] != 200 || got[3*26+2] != 100 {
		t.Errorf("overlap %v, west alone %v, want 200 and 100", got[3*26+15], got[3*26+2])
	}
}

func TestCoarseningAverages(t *testing.T) {
	cells := make([]float32, 9*6)
	for i := range cells {
		cells[i] = float32(i * i % 17)
	}
	cells[0], cells[1] = -9999, -9999
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 9, h: 6, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617", nodata: value(-9999)}, cells)
	got, how := surface(t, Source{Paths: []string{path}}, utm17(t, 3, 2, 500000, 4e6, 30), 1)
	if how != HowAveragedIn {
		t.Errorf("landed %q, want %q", how, HowAveragedIn)
	}
	var want []float32
	for y := range 2 {
		for x := range 3 {
			sum, n := 0.0, 0.0
			for k := range 9 {
				if v := cells[(3*y+k/3)*9+3*x+k%3]; v != -9999 {
					sum += float64(v)
					n++
				}
			}
			want = append(want, float32(sum/n))
		}
	}
	sameSurface(t, got, want, 1e-4)
}

func TestGeographicElevationIsReprojected(t *testing.T) {
	const step = 0.0001 // degrees, about 10 m
	cells := make([]float32, 100*100)
	for i := range cells {
		cells[i] = float32(300 + float64(i%100)*0.5)
	}
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 100, h: 100, geo: northUp(-81.005, 40.005, step), crs: "EPSG:4326"}, cells)
	xs, ys := []float64{-81}, []float64{40}
	if _, err := TransformPoints(xs, ys, WGS84(), wktOf(t, "EPSG:32617")); err != nil {
		t.Fatal(err)
	}
	f := utm17(t, 20, 20, xs[0]-100, ys[0]+100, 10)
	got, how := surface(t, Source{Paths: []string{path}}, f, 1)
	if how != HowWarped {
		t.Errorf("landed %q, want %q", how, HowWarped)
	}
	for i, v := range got {
		e, n := f.Center(i%20, i/20)
		lon, lat := []float64{e}, []float64{n}
		if _, err := TransformPoints(lon, lat, f.WKT, WGS84()); err != nil {
			t.Fatal(err)
		}
		want := 300 + ((lon[0]+81.005)/step-0.5)*0.5
		// The warper's own shortcut is allowed an eighth of a cell.
		if math.Abs(float64(v)-want) > 0.125*0.5 {
			t.Fatalf("cell %d: got %v, want %v", i, v, want)
		}
	}
	if _, how := surface(t, Source{Paths: []string{path}}, utm17(t, 4, 4, xs[0]-100, ys[0]+100, 50), 1); how != HowAveraged {
		t.Errorf("coarser: landed %q, want %q", how, HowAveraged)
	}
}

func TestSurfaceDoesNotDependOnWorkersOrScratch(t *testing.T) {
	dir := t.TempDir()
	cells := make([]float32, 60*700)
	for i := range cells {
		cells[i] = float32(100 + math.Sin(float64(i%60)/7)*20 + float64(i/60)*0.1)
	}
	path := makeTIFF(t, filepath.Join(dir, "dem.tif"), tiff{w: 60, h: 700, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617"}, cells)
	f := utm17(t, 50, 650, 500003, 4e6-4, 10) // resampled, several bands
	scratch, err := NewScratch(dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	var want []float32
	for _, workers := range []int{1, 2, 5} {
		for _, s := range []*Scratch{nil, scratch} {
			p, err := NewPlane[float32](f.W, f.H, s)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := ReadSurface(t.Context(), Source{Paths: []string{path}}, f, 1, workers, p, func(float64) {}); err != nil {
				t.Fatal(err)
			}
			got := make([]float32, f.Cells())
			if err := p.Read(0, 0, f.W, f.H, got); err != nil {
				t.Fatal(err)
			}
			p.Close()
			if want == nil {
				want = got
			}
			sameSurface(t, got, want, 0)
		}
	}
}

func TestTruncatedFilesAreErrors(t *testing.T) {
	dir := t.TempDir()
	whole := makeTIFF(t, filepath.Join(dir, "whole.tif"), tiff{w: 64, h: 64, geo: northUp(500000, 4e6, 10), crs: "EPSG:32617"}, counted[float32](64*64, 0))
	all, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	for _, keep := range []int{1, 4, 8, 9, 100, 200, len(all) / 4, len(all) / 2, len(all) - 64*4, len(all) - 1} {
		cut := filepath.Join(dir, "cut.tif")
		if err := os.WriteFile(cut, all[:keep], 0o644); err != nil {
			t.Fatal(err)
		}
		for _, cell := range []float64{10, 11, 40} { // copied, bilinear, averaged
			n := int(640 / cell)
			f := utm17(t, n, n, 500000, 4e6, cell)
			p := PlaneOf(n, n, make([]float32, n*n))
			_, err := ReadSurface(t.Context(), Source{Paths: []string{cut}}, f, 1, 2, p, func(float64) {})
			if err == nil || !strings.Contains(err.Error(), "cut.tif") || strings.Contains(err.Error(), "\n") {
				t.Errorf("%d of %d bytes onto cells of %v m: got %v, want one line that names the file", keep, len(all), cell, err)
			}
		}
	}
}

func TestTheDamagedTileOfAMosaicIsNamed(t *testing.T) {
	paths := quarters(t, t.TempDir(), "EPSG:32617")
	if err := os.Truncate(paths[2], 700); err != nil {
		t.Fatal(err)
	}
	f := utm17(t, 20, 20, 500000, 4e6, 10)
	for _, cell := range []float64{10, 11} {
		f.Cell = cell
		p := PlaneOf(f.W, f.H, make([]float32, f.Cells()))
		_, err := ReadSurface(t.Context(), Source{Paths: paths}, f, 1, 2, p, func(float64) {})
		if err == nil || !strings.Contains(err.Error(), filepath.Base(paths[2])) {
			t.Errorf("cells of %v m: got %v, want an error that names %s", cell, err, filepath.Base(paths[2]))
		}
	}
}

func TestReadingStopsWhenCancelled(t *testing.T) {
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 4, h: 1200, geo: northUp(0, 0, 10), crs: "EPSG:32617"}, counted[float32](4800, 0))
	ctx, cancel := context.WithCancel(t.Context())
	p := PlaneOf(4, 1200, make([]float32, 4800))
	_, err := ReadSurface(ctx, Source{Paths: []string{path}}, utm17(t, 4, 1200, 0, 0, 10), 1, 1, p, func(float64) { cancel() })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want the context's error", err)
	}
}

func TestReadingNothing(t *testing.T) {
	p := PlaneOf(2, 2, make([]float32, 4))
	if _, err := ReadSurface(t.Context(), Source{}, utm17(t, 2, 2, 0, 0, 10), 1, 1, p, func(float64) {}); err == nil {
		t.Error("a layer without files was read")
	}
}
