package terrain

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rillwood/raster"
)

func TestValleyFlatnessPublishedScalars(t *testing.T) {
	var c struct {
		Input     map[string]float64 `json:"input"`
		Expected  map[string]float64 `json:"expected"`
		Tolerance float64            `json:"tolerance"`
	}
	published(t, "mrvbf_scalar", &c)
	in, tol := c.Input, c.Tolerance
	check := func(name string, got float64) {
		t.Helper()
		if want, ok := c.Expected[name]; !ok || !near(got, want, tol) {
			t.Errorf("%s: got %v, want %v", name, got, want)
		}
	}
	t1 := in["t_slope_step1"]
	if got := flatnessThreshold(25); !near(got, t1, tol) {
		t.Errorf("slope threshold on 25 m cells: got %v, want %v", got, t1)
	}
	f1, f2, f3 := flatGround(in["slope_pct_base"], t1), flatGround(in["slope_pct_base"], t1/2), flatGround(in["slope_pct_step3"], t1/4)
	check("F1", f1)
	check("F2", f2)
	check("F3", f3)
	check("PV1", f1*lowGround(in["pctl1"]))
	check("PV2", f2*lowGround(in["pctl2"]))
	check("V1", valleyFlat(c.Expected["PV1"]))
	check("V2", valleyFlat(c.Expected["PV2"]))
	check("V3", valleyFlat(c.Expected["PV3"]))
	check("p2", newValleyScale(2, t1/2).power)
	check("p3", newValleyScale(3, t1/4).power)

	var v valleySteps
	add := func(step int, t, slope, lower float64) {
		s := newValleyScale(step, t)
		v.add(&s, slope, lower)
	}
	add(1, t1, in["slope_pct_base"], in["pctl1"])
	check("V1", v.index)
	add(2, t1/2, in["slope_pct_base"], in["pctl2"])
	check("M2", v.index)
	check("CF2", v.flat)
	add(3, t1/4, in["slope_pct_step3"], in["pctl3"])
	check("M3", v.index)
	check("CF3", v.flat)
}

// Slope thresholds (%) for other cells, by the rule that keeps the paper's
// relation of slope and scale; computed from 16·(25/r)^(ln 2/ln 3).
func TestFlatnessThresholdByCell(t *testing.T) {
	for cell, want := range map[float64]float64{25: 16, 75: 8, 225: 4, 10: 28.5, 5: 44.2, 3: 61.0, 1: 121.9} {
		if got := flatnessThreshold(cell); !near(got, want, 0.05) {
			t.Errorf("%v m: got %v %%, want %v %%", cell, got, want)
		}
	}
}

// Level ground, nowhere lower than its neighbours, is the flattest bottom
// there is: the index of each number of steps is at its limit, also through
// smoothing, coarsening and back. Limits computed from the paper's formulas.
func TestValleyFlatnessLimitOfLevelGround(t *testing.T) {
	const w, h = 100, 90
	z := raster.PlaneOf(w, h, slices.Repeat([]float32{123.4}, w*h))
	for steps, want := range map[int]float64{2: 1.9896, 3: 2.9912, 4: 3.9916, 5: 4.9918, 6: 5.9918} {
		p, err := ValleyFlatness(t.Context(), z, 25, steps, Options{Workers: 2})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range p.Mem() {
			if !near(float64(v), want, 1e-4) {
				t.Fatalf("%d steps, cell %d: got %v, want %v", steps, i, v, want)
			}
		}
	}
	var v valleySteps
	first := newValleyScale(1, 16)
	if v.add(&first, 0, 0); !near(v.index, 0.991965, 1e-6) {
		t.Errorf("first step: got %v, want 0.991965", v.index)
	}
}

func TestValleyFlatnessOfASteepPlane(t *testing.T) {
	var v valleySteps
	first, second := newValleyScale(1, 16), newValleyScale(2, 8)
	v.add(&first, 30, 0.5)
	if !near(v.index, 0.000051, 5e-7) {
		t.Errorf("VF1: got %v, want 0.000051", v.index)
	}
	v.add(&second, 30, 0.5)
	if !near(v.index, 0.000051, 5e-7) {
		t.Errorf("two steps: got %v, want 0.000051", v.index)
	}
	// The same plane as a map: 30 % in a direction that no two neighbours
	// share a height along, so that half of them are lower.
	const w, h, cell = 60, 60, 25.0
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(cell * 0.3 * (math.Cos(0.4)*float64(i%w) + math.Sin(0.4)*float64(i/w)))
	}
	p, err := ValleyFlatness(t.Context(), raster.PlaneOf(w, h, z), cell, 2, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := float64(p.Mem()[h/2*w+w/2]); !near(got, 0.000051, 2e-6) {
		t.Errorf("map: got %v, want 0.000051", got)
	}
}

// A wide flat floor between slopes stands out, the ridge does not.
func TestValleyFlatnessTellsFloorFromRidge(t *testing.T) {
	const w, h, cell = 150, 60, 25.0
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(max(0, math.Abs(float64(i%w)-75)-20) * 5) // a floor 41 cells wide, then 20 %
	}
	p, err := ValleyFlatness(t.Context(), raster.PlaneOf(w, h, z), cell, 4, Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	row := p.Mem()[h/2*w : (h/2+1)*w]
	if row[75] < 2 {
		t.Errorf("middle of the floor: got %v, want a broad bottom (2 or more)", row[75])
	}
	if row[10] > 0.5 {
		t.Errorf("slope: got %v, want no bottom (below 0.5)", row[10])
	}
}

func TestValleyFlatnessDoesNotDependOnWorkersOrScratch(t *testing.T) {
	const w, h = 80, 300 // several bands
	rng := rand.New(rand.NewPCG(3, 1))
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(10*math.Sin(float64(i%w)/9) + 10*math.Cos(float64(i/w)/13) + rng.Float64())
		if rng.IntN(30) == 0 {
			z[i] = nan
		}
	}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	var want []float32
	for _, o := range []Options{{}, {Workers: 2}, {Workers: 5}, {Workers: 2, Scratch: scratch}} {
		p, err := ValleyFlatness(t.Context(), inScratch(t, w, h, z, o.Scratch), 10, 5, o)
		if err != nil {
			t.Fatal(err)
		}
		got := contents(t, p)
		if want == nil {
			want = got
		}
		if i := sameBits(got, want); i >= 0 {
			t.Errorf("%d workers: cell %d is %v, want %v", o.Workers, i, got[i], want[i])
		}
		for i, v := range got {
			if (v != v) != (z[i] != z[i]) {
				t.Fatalf("cell %d: ground %v, index %v", i, z[i], v)
			}
			if v < 0 || v > 5 {
				t.Fatalf("cell %d: index %v of 5 steps", i, v)
			}
		}
	}
}

func TestQuickWeightsAgreeWithThePowers(t *testing.T) {
	for step := 2; step <= maxValleySteps; step++ {
		s := newValleyScale(step, 1)
		q := newQuickScale(s)
		for i := range 20001 {
			product := float64(i) / 20000
			for _, before := range []float64{0, 0.7, float64(step) - 1.01} {
				if got, want := q.blend(product, before), s.blend(valleyFlat(product), before); !near(got, want, 5e-7) {
					t.Fatalf("step %d, product %v after %v: got %v, want %v", step, product, before, got, want)
				}
			}
		}
	}
}
