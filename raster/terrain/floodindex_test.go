package terrain

import (
	"math"
	"testing"
)

func TestFloodIndexPublishedCases(t *testing.T) {
	var c struct {
		N     float64 `json:"n"`
		A     float64 `json:"a"`
		Cases []struct {
			Area   float64 `json:"A_km2"`
			Height float64 `json:"H_m"`
			GFI    float64 `json:"gfi"`
		} `json:"cases"`
		Tolerance float64 `json:"tolerance"`
	}
	published(t, "gfi_scalar", &c)
	for _, k := range c.Cases {
		if got := FloodIndex(k.Area, k.Height, c.A, c.N); !near(got, k.GFI, c.Tolerance) {
			t.Errorf("%v km², %v m: got %v, want %v", k.Area, k.Height, got, k.GFI)
		}
	}
}

func TestFloodIndexOnTheStreamAndBelowIt(t *testing.T) {
	for _, h := range []float64{0, -0.2} {
		if got := FloodIndex(10, h, 1, 0.35); !math.IsInf(got, 1) {
			t.Errorf("height %v: got %v, want +Inf", h, got)
		}
	}
}
