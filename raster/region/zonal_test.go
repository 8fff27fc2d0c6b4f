package region

import (
	"context"
	"math"
	"testing"

	"pgregory.net/rapid"

	"rillwood/raster"
)

func TestZonalCellByCell(t *testing.T) {
	nan := math.NaN()
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(20, 4).Draw(t, "raster")
		values := make([]float64, len(l.cell))
		for i := range values {
			// Quarters add up exactly in any order.
			values[i] = float64(rapid.IntRange(-400, 400).Draw(t, "value")) / 4
			if rapid.IntRange(0, 9).Draw(t, "hole") == 0 {
				values[i] = nan
			}
		}
		patches := l.patches()
		got, err := Zonal(context.Background(), raster.PlaneOf(l.w, l.h, values), patches, 25)
		if err != nil {
			t.Fatal(err)
		}
		for i := range patches {
			want := Stats{Min: nan, Max: nan}
			for c, v := range values {
				if l.cell[c] != i+1 || v != v || v == 25 {
					continue
				}
				if want.Count == 0 {
					want.Min, want.Max = v, v
				}
				want.Count++
				want.Sum += v
				want.Min, want.Max = min(want.Min, v), max(want.Max, v)
			}
			g := got[i]
			if g.Count != want.Count || g.Sum != want.Sum || want.Count > 0 && (g.Min != want.Min || g.Max != want.Max) {
				t.Fatalf("patch %d: %+v, want %+v", i, g, want)
			}
			if want.Count == 0 && (g.Min == g.Min || g.Max == g.Max || g.Mean() == g.Mean()) {
				t.Fatalf("patch %d has no value: %+v, mean %v", i, g, g.Mean())
			}
		}
	})
}

// A large plane in a scratch file gives the same statistics as in memory.
func TestZonalScratch(t *testing.T) {
	w, h := 9000, 6
	values := make([]float32, w*h)
	for i := range values {
		values[i] = float32(i%977) * 0.1
	}
	patches := []Patch{
		{Runs: []Run{{Y: 1, X0: 10, X1: 20}, {Y: 1, X0: 8000, X1: 9000}, {Y: 5, X0: 0, X1: 9000}}},
		{Runs: []Run{{Y: 1, X0: 300, X1: 400}, {Y: 4, X0: 8999, X1: 9000}}},
	}
	s, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	file, err := raster.NewPlane[float32](w, h, s)
	if err != nil {
		t.Fatal(err)
	}
	if err := file.Write(0, 0, w, h, values); err != nil {
		t.Fatal(err)
	}
	got, err := Zonal(context.Background(), file, patches)
	if err != nil {
		t.Fatal(err)
	}
	want, err := Zonal(context.Background(), raster.PlaneOf(w, h, values), patches)
	if err != nil {
		t.Fatal(err)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("patch %d: %+v from a file, %+v from memory", i, got[i], want[i])
		}
		if want[i].Count != patches[i].Cells() {
			t.Errorf("patch %d: %d cells counted of %d", i, want[i].Count, patches[i].Cells())
		}
	}
}

// A sum that loses everything to rounding when added naively.
func TestZonalSumIsCompensated(t *testing.T) {
	got, err := Zonal(context.Background(), raster.PlaneOf(4, 1, []float64{1, 1e100, 1, -1e100}), []Patch{{Runs: []Run{{X1: 4}}}})
	if err != nil {
		t.Fatal(err)
	}
	if got[0].Sum != 2 {
		t.Errorf("1 + 1e100 + 1 − 1e100 = %v, want 2", got[0].Sum)
	}
	inf := float32(math.Inf(1))
	far, err := Zonal(context.Background(), raster.PlaneOf(3, 1, []float32{1, inf, 2}), []Patch{{Runs: []Run{{X1: 3}}}})
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(far[0].Sum, 1) || far[0].Min != 1 {
		t.Errorf("with an infinite cell: %+v", far[0])
	}
}

func TestZonalRefusesPatchesOutside(t *testing.T) {
	for _, r := range []Run{{Y: -1, X1: 1}, {Y: 2, X1: 1}, {X0: -1, X1: 1}, {X0: 1, X1: 4}, {X0: 2, X1: 2}} {
		if _, err := Zonal(context.Background(), raster.PlaneOf(3, 2, make([]uint8, 6)), []Patch{{Runs: []Run{r}}}); err == nil {
			t.Errorf("run %+v on 3 × 2 cells: no error", r)
		}
	}
}
