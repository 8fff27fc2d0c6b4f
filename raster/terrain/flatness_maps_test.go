package terrain

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rillwood/raster"
)

// Random ground of three kinds, with holes, against the index worked out
// plainly; the same bits in any tiling, in memory and in scratch files.
func TestValleyFlatnessAgainstPlain(t *testing.T) {
	for seed := range 24 {
		g, rng := rough(seed)
		g.z[len(g.z)/2] = float32(math.Copysign(0, -1)) // equal to 0
		steps, cell := 2+rng.IntN(4), []float64{1, 10, 30, 100}[rng.IntN(4)]
		want := plainFlatness(g.z, g.w, g.h, cell, steps)
		var first []float32
		for _, c := range cuts(t, rng) {
			p, err := ValleyFlatness(t.Context(), inScratch(t, g.w, g.h, g.z, c.o.Scratch), cell, steps, c.o)
			if err != nil {
				t.Fatal(err)
			}
			got := contents(t, p)
			if first == nil {
				first = got
			}
			if i := sameBits(got, first); i >= 0 {
				t.Fatalf("seed %d, %s: cell %d is %v, not %v", seed, c.name, i, got[i], first[i])
			}
			for i, v := range got {
				if !near(float64(v), want[i], 2e-5) {
					t.Fatalf("seed %d, %s, %d steps of %v m, cell %d: got %v, want %v", seed, c.name, steps, cell, i, v, want[i])
				}
			}
		}
	}
}

// The same on a map of several ranking windows, with smooth ground and noise
// in it, so that coarse steps see more than an edge.
func TestValleyFlatnessAcrossWindows(t *testing.T) {
	const w, h = 2*windowInner + 31, windowInner + 50
	rng := rand.New(rand.NewPCG(11, 4))
	z := make([]float32, w*h)
	for i := range z {
		x, y := float64(i%w), float64(i/w)
		z[i] = float32(max(0, 40*math.Sin(x/60)*math.Cos(y/45)+8*math.Sin(x/17)) - 5 + 0.2*rng.Float64())
		if x > 300 && y < 20+10*math.Sin(x/5) {
			z[i] = nan
		}
	}
	want := plainFlatness(z, w, h, 10, 5)
	p, err := ValleyFlatness(t.Context(), raster.PlaneOf(w, h, z), 10, 5, Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	top := 0.0
	for i, v := range p.Mem() {
		if !near(float64(v), want[i], 2e-5) {
			t.Fatalf("cell %d,%d: got %v, want %v", i%w, i/w, v, want[i])
		}
		top = max(top, want[i])
	}
	if top < 2.5 {
		t.Fatalf("flattest ground has %v: no coarse step was tried", top)
	}
}

// One byte a cell holds the plain index in steps of 25 m cells, to half a unit.
func TestStoredFlatnessAgainstPlain(t *testing.T) {
	for seed, cell := range []float64{1, 10, 25, 30, 50, 100, 1000} {
		g, rng := rough(3 * seed)
		want := plainFlatness(g.z, g.w, g.h, cell, FlatnessSteps(cell))
		for _, c := range cuts(t, rng) {
			p, err := StoredFlatness(t.Context(), inScratch(t, g.w, g.h, g.z, c.o.Scratch), cell, c.o)
			if err != nil {
				t.Fatal(err)
			}
			for i, got := range contents(t, p) {
				if want[i] != want[i] {
					if got != FlatnessMissing {
						t.Fatalf("%v m, %s, cell %d: missing ground stored as %d", cell, c.name, i, got)
					}
					continue
				}
				if v := 25 * max(0, want[i]+math.Log(cell/25)/math.Log(3)); !near(float64(got), v, 0.501) {
					t.Fatalf("%v m, %s, cell %d: got %d, want %v", cell, c.name, i, got, v)
				}
			}
		}
	}
}

// Steps to reach the width that the fourth has on 25 m cells, by hand: the
// third step and later ones are three times as wide as those before.
func TestFlatnessStepsByCell(t *testing.T) {
	for cell, want := range map[float64]int{0.001: 10, 1: 7, 3: 6, 5: 6, 10: 5, 25: 4, 30: 4, 50: 4, 100: 3, 1000: 2} {
		if got := FlatnessSteps(cell); got != want {
			t.Errorf("%v m: got %d steps, want %d", cell, got, want)
		}
	}
}

// A broad level floor between slopes has about the same stored flatness on
// cells of different size, where the index itself is a step and a half apart.
func TestStoredFlatnessIsStableAcrossCells(t *testing.T) {
	var got []float64
	for _, cell := range []float64{10, 25, 50} {
		w := int(12000 / cell)
		h := int(6000 / cell)
		z := make([]float32, w*h)
		for i := range z {
			z[i] = float32(max(0, math.Abs((float64(i%w)+0.5)*cell-6000)-400)*0.2 + 0.001*cell*float64(i/w))
		}
		p, err := StoredFlatness(t.Context(), raster.PlaneOf(w, h, z), cell, Options{Workers: 2})
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, float64(p.Mem()[h/2*w+w/2])/FlatnessUnit)
	}
	t.Logf("in the middle of a floor 800 m wide on 10, 25 and 50 m cells: %.2f", got)
	if lo, hi := slices.Min(got), slices.Max(got); lo < 2 || hi-lo > 1 {
		t.Errorf("got %.2f, want 2 or more and no more than one step apart", got)
	}
}

// Every map size and number of steps has a result, however small the map.
func TestValleyFlatnessOfSmallMaps(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 1}, {1, 7}, {4, 3}, {13, 13}} {
		for _, steps := range []int{0, 2, 3, 7, 10, 99} {
			for _, hole := range []bool{false, true} {
				w, h := size[0], size[1]
				z := slices.Repeat([]float32{7}, w*h)
				if hole {
					z[0] = nan
				}
				p, err := ValleyFlatness(t.Context(), raster.PlaneOf(w, h, z), 1, steps, Options{})
				if err != nil {
					t.Fatal(err)
				}
				for i, v := range p.Mem() {
					if (v != v) != (z[i] != z[i]) || v < 0 || v > maxValleySteps {
						t.Fatalf("%d × %d, %d steps, cell %d: %v of ground %v", w, h, steps, i, v, z[i])
					}
				}
			}
		}
	}
}
