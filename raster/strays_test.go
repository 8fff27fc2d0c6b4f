package raster

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"testing"
)

// A mark for none that the file does not declare is found in the file's own
// cells, however these land: averaged over four cells −9999 among heights of
// 200 m would be −2,350 m, and 65535 among a hundred would be 853 m.
func TestStraysAreFoundHoweverTheyLand(t *testing.T) {
	inf := float32(math.Inf(1))
	for _, c := range []struct {
		mark        float32
		declared    *float64
		factor      float64
		cells, huge int64
	}{
		{-9999, nil, 1, 3, 0}, {-9999, nil, 0.3048, 3, 0}, {-32768, nil, 1, 3, 0}, {-32767, value(0), 1, 3, 0}, {-99999, nil, 1, 3, 0},
		{32767, nil, 1, 3, 0}, {65535, nil, 0.3048, 3, 0}, {1e6, nil, 1, 3, 0},
		{-9999, value(-9999), 1, 0, 0}, {-9999.9, value(-9999.9), 1, 0, 0}, {-9999.9, value(-9999.90001), 1, 0, 0}, {65535, value(65535), 1, 0, 0},
		{inf, nil, 1, 0, 3}, {-inf, nil, 1, 0, 3}, {3.4028235e38, nil, 1, 0, 3}, {-3.4e38, nil, 1, 0, 3}, {-3.4028235e38, value(-3.40282306e38), 1, 0, 3},
		{nan32, nil, 1, 0, 0}, {0, nil, 1, 0, 0}, {255, nil, 1, 0, 0}, {-430, nil, 1, 0, 0}, {29030, nil, 0.3048, 0, 0},
	} {
		cells := counted[float32](64, 200)
		for _, i := range []int{0, 27, 28} {
			cells[i] = c.mark
		}
		whole := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 8, h: 8, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: c.declared}, cells)
		top := makeTIFF(t, filepath.Join(t.TempDir(), "top.tif"), tiff{w: 8, h: 4, geo: northUp(0, 0, 10), crs: "EPSG:32617", nodata: c.declared}, cells[:32])
		low := makeTIFF(t, filepath.Join(t.TempDir(), "low.tif"), tiff{w: 8, h: 4, geo: northUp(0, -40, 10), crs: "EPSG:32617", nodata: c.declared}, cells[32:])
		for _, paths := range [][]string{{whole}, {low, top}} {
			for _, cell := range []float64{10, 10.5, 20} { // copied, bilinear, averaged
				t.Run(fmt.Sprintf("%g in %d files onto %g", c.mark, len(paths), cell), func(t *testing.T) {
					s := Source{Paths: paths, Strays: &Strays{}}
					n := int(80 / cell)
					f := utm17(t, n, n, 0, 0, cell)
					p, err := NewPlane[float32](n, n, nil)
					if err != nil {
						t.Fatal(err)
					}
					if _, err := ReadSurface(t.Context(), s, f, c.factor, 2, p, func(float64) {}); err != nil {
						t.Fatal(err)
					}
					if s.Strays.Cells != c.cells || s.Strays.Huge != c.huge || s.Strays.Low != 0 || s.Strays.High != 0 {
						t.Errorf("%d strays and %d huge (low %g, high %g), want %d and %d", s.Strays.Cells, s.Strays.Huge, s.Strays.Low, s.Strays.High, c.cells, c.huge)
					}
					if path := paths[len(paths)-1]; c.cells > 0 && (s.Strays.Value != float64(c.mark) || s.Strays.Path != path) {
						t.Errorf("%g in %q, want %g in %q", s.Strays.Value, s.Strays.Path, c.mark, path)
					}
				})
			}
		}
	}
}

func TestHeightsOfNoDryLandAreTold(t *testing.T) {
	cells := counted[float32](64, 200)
	cells[5], cells[9] = -5000, 14000
	path := makeTIFF(t, filepath.Join(t.TempDir(), "dem.tif"), tiff{w: 8, h: 8, geo: northUp(0, 0, 10), crs: "EPSG:32617"}, cells)
	for _, c := range []struct{ factor, low, high float64 }{{1, -5000, 14000}, {0.3048, -1524, 0}} {
		for _, cell := range []float64{10, 20} {
			s := Source{Paths: []string{path}, Strays: &Strays{}}
			p, err := NewPlane[float32](4, 4, nil)
			if err != nil {
				t.Fatal(err)
			}
			f := utm17(t, 4, 4, 0, 0, cell)
			if cell == 10 {
				f.W, f.H = 8, 8
				if p, err = NewPlane[float32](8, 8, nil); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := ReadSurface(context.Background(), s, f, c.factor, 1, p, func(float64) {}); err != nil {
				t.Fatal(err)
			}
			if math.Abs(s.Strays.Low-c.low) > 0.01 || math.Abs(s.Strays.High-c.high) > 0.01 || s.Strays.Cells != 0 {
				t.Errorf("cells of %g m, unit of %g m: low %g, high %g, %d strays; want %g, %g, none", cell, c.factor, s.Strays.Low, s.Strays.High, s.Strays.Cells, c.low, c.high)
			}
		}
	}
}
