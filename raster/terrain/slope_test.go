package terrain

import (
	"math"
	"testing"

	"rillwood/raster"
)

func TestSlopePublishedGrids(t *testing.T) {
	var c struct {
		Cases []struct {
			Name   string   `json:"name"`
			Cell   float64  `json:"cellsize"`
			NoData *float64 `json:"nodata"`
			Input  grid     `json:"input"`
			Deg    grid     `json:"expected_deg"`
			Center *float64 `json:"expected_center_deg"`
			Rise   float64  `json:"expected_center_rise_run"`
		} `json:"cases"`
		Tolerance float64 `json:"tolerance_deg"`
	}
	published(t, "horn_slope", &c)
	for _, k := range c.Cases {
		t.Run(k.Name, func(t *testing.T) {
			w, h := k.Input.size()
			z := k.Input.cells()
			for i, v := range z {
				if k.NoData != nil && float64(v) == *k.NoData {
					z[i] = nan
				}
			}
			p, err := Slope(t.Context(), raster.PlaneOf(w, h, z), k.Cell, Options{Workers: 2})
			if err != nil {
				t.Fatal(err)
			}
			if k.Center == nil {
				compareCells(t, p.Mem(), k.Deg.cells(), w, c.Tolerance)
				return
			}
			if got := float64(p.Mem()[4]); !near(got, *k.Center, c.Tolerance) {
				t.Errorf("centre: got %v°, want %v°", got, *k.Center)
			}
			var rise [1]float32
			GradientRow(z[0:3], z[3:6], z[6:9], k.Cell, true, rise[:])
			if !near(float64(rise[0]), k.Rise, 1e-6) {
				t.Errorf("centre: got rise over run %v, want %v", rise[0], k.Rise)
			}
		})
	}
}

// On an inclined plane Horn's differences are exact.
func TestSlopeOfAnInclinedPlane(t *testing.T) {
	const w, h, cell = 20, 300, 10 // more rows than one band
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(3*(i%w) + 4*(i/w)) // 0.3 and 0.4 m/m: rise over run 0.5
	}
	p, err := Slope(t.Context(), raster.PlaneOf(w, h, z), cell, Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	want := math.Atan(0.5) * 180 / math.Pi
	for i, v := range p.Mem() {
		x, y := i%w, i/w
		if rim := x == 0 || y == 0 || x == w-1 || y == h-1; rim != (v != v) {
			t.Fatalf("cell %d,%d: slope %v, rim %v", x, y, v, rim)
		} else if !rim && !near(float64(v), want, 1e-5) {
			t.Fatalf("cell %d,%d: got %v°, want %v°", x, y, v, want)
		}
	}
}

func TestLenientGradientTakesTheCentreForMissingCells(t *testing.T) {
	up, mid, down := []float32{nan, 2, 3}, []float32{4, 5, nan}, []float32{7, 8, 9}
	plain := func(a, b, c, d, f, g, h, i float64) float64 {
		return math.Hypot((c+2*f+i)-(a+2*d+g), (g+2*h+i)-(a+2*b+c)) / 8
	}
	var out [1]float32
	GradientRow(up, mid, down, 1, false, out[:])
	if want := plain(5, 2, 3, 4, 5, 7, 8, 9); !near(float64(out[0]), want, 1e-6) {
		t.Errorf("got %v, want %v", out[0], want)
	}
	GradientRow(up, mid, down, 1, true, out[:])
	if out[0] == out[0] {
		t.Errorf("strict: got %v, want a missing value", out[0])
	}
	mid[1] = nan
	GradientRow(up, mid, down, 1, false, out[:])
	if out[0] == out[0] {
		t.Errorf("missing centre: got %v, want a missing value", out[0])
	}
}
