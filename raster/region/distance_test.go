package region

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"rillwood/raster"
)

// distances runs Distance on cells in memory.
func distances(t rapid.TB, w, h int, seeds []uint8, from uint8, cell float64, workers int) []float32 {
	t.Helper()
	out := make([]float32, w*h)
	for i := range out {
		out[i] = -1
	}
	if err := Distance(context.Background(), raster.PlaneOf(w, h, seeds), from, cell, raster.PlaneOf(w, h, out), workers); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestDistancePublishedCase(t *testing.T) {
	b, err := os.ReadFile("../../fixtures/cases/edt_squared.json")
	if err != nil {
		t.Fatal(err)
	}
	var c struct {
		Seeds    [][]uint8 `json:"seeds"`
		Expected [][]int   `json:"expected_squared_cells"`
		Aniso    struct {
			CellX     float64     `json:"cell_x"`
			CellY     float64     `json:"cell_y"`
			Expected  [][]float64 `json:"expected_distance"`
			Tolerance float64     `json:"tolerance"`
		} `json:"anisotropic"`
		OneD struct {
			F        []int64 `json:"f"`
			Expected []int64 `json:"expected"`
		} `json:"one_d"`
	}
	if err := json.Unmarshal(b, &c); err != nil {
		t.Fatal(err)
	}
	h, w := len(c.Seeds), len(c.Seeds[0])
	var seeds []uint8
	var flags []bool
	for _, r := range c.Seeds {
		for _, v := range r {
			seeds, flags = append(seeds, v), append(flags, v > 0)
		}
	}
	got := distances(t, w, h, seeds, 1, 10, 2)
	aniso := DistanceOf(w, h, flags, c.Aniso.CellX, c.Aniso.CellY)
	for i := range got {
		want := float32(math.Sqrt(float64(c.Expected[i/w][i%w])) * 10)
		if got[i] != want {
			t.Errorf("cell %d,%d: %v m, want %v", i%w, i/w, got[i], want)
		}
		if want := c.Aniso.Expected[i/w][i%w]; math.Abs(aniso[i]-want) > c.Aniso.Tolerance {
			t.Errorf("cells of 7.5 × 10 m, cell %d,%d: %v m, want %v", i%w, i/w, aniso[i], want)
		}
	}
	// The sampled function of Felzenszwalb & Huttenlocher, one row.
	env, cost := newEnvelope(len(c.OneD.F)), make([]int64, len(c.OneD.F))
	for x, f := range c.OneD.F {
		cost[x] = f + int64(x*x)
	}
	env.build(cost, 1)
	row := make([]float32, len(cost))
	env.distances(row, 1)
	for x, want := range c.OneD.Expected {
		if row[x] != float32(math.Sqrt(float64(want))) {
			t.Errorf("one row, column %d: %v, want the root of %d", x, row[x], want)
		}
	}
}

// squared is the squared distance in cells to the nearest seed by trying all, −1 without seeds.
func squared(w int, seeds []int, i int) (best, nearest int) {
	best, nearest = -1, -1
	for k, s := range seeds {
		dx, dy := s%w-i%w, s/w-i/w
		if d := dx*dx + dy*dy; best < 0 || d < best {
			best, nearest = d, k
		}
	}
	return best, nearest
}

func TestDistanceBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 40).Draw(t, "w"), rapid.IntRange(1, 200).Draw(t, "h")
		from := rapid.Uint8().Draw(t, "from")
		density := rapid.SampledFrom([]float64{0, 0.001, 0.01, 0.3, 1}).Draw(t, "density")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		cells, flags := make([]uint8, w*h), make([]bool, w*h)
		var list []int
		for i := range cells {
			if from == 0 || rng.Float64() < density {
				cells[i] = from + uint8(rng.IntN(256-int(from)))
				flags[i] = true
				list = append(list, i)
			} else {
				cells[i] = uint8(rng.IntN(int(from)))
			}
		}
		got := distances(t, w, h, cells, from, 2.5, rapid.IntRange(0, 4).Draw(t, "workers"))
		cx, cy := 3.0, 7.0
		aniso := DistanceOf(w, h, flags, cx, cy)
		for i := range got {
			if rng.IntN(8) > 0 {
				continue // trying all seeds for every cell would be slow
			}
			d, _ := squared(w, list, i)
			want := float32(math.Inf(1))
			if d >= 0 {
				want = float32(math.Sqrt(float64(d)) * 2.5)
			}
			if got[i] != want {
				t.Fatalf("cell %d,%d: %v m, want %v", i%w, i/w, got[i], want)
			}
			best := math.Inf(1)
			for _, s := range list {
				best = min(best, math.Hypot(float64(s%w-i%w)*cx, float64(s/w-i/w)*cy))
			}
			if aniso[i] != best && math.Abs(aniso[i]-best) > 1e-12*best {
				t.Fatalf("cells of 3 × 7 m, cell %d,%d: %v m, want %v", i%w, i/w, aniso[i], best)
			}
		}
	})
}

func TestNearestSeedBruteForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 24).Draw(t, "w"), rapid.IntRange(1, 24).Draw(t, "h")
		list := rapid.SliceOfN(rapid.IntRange(0, w*h-1), 0, 40).Draw(t, "seeds")
		seeds := make([]int32, len(list))
		for i, s := range list {
			seeds[i] = int32(s)
		}
		for i, got := range NearestSeed(w, h, seeds) {
			if _, want := squared(w, list, i); int(got) != want {
				t.Fatalf("cell %d,%d: seed %d, want %d", i%w, i/w, got, want)
			}
		}
	})
}

// The same bytes come out whatever holds the planes and however many work.
func TestDistancePlacesAndWorkers(t *testing.T) {
	w, h := 301, 333
	rng := rand.New(rand.NewPCG(5, 5))
	cells := make([]uint8, w*h)
	for range 60 {
		cells[rng.IntN(w*h)] = 200
	}
	want := distances(t, w, h, cells, 128, 10, 1)
	for _, workers := range []int{0, 2, 5} {
		s, err := raster.NewScratch(t.TempDir(), 0)
		if err != nil {
			t.Fatal(err)
		}
		seed, err := raster.NewPlane[uint8](w, h, s)
		if err != nil {
			t.Fatal(err)
		}
		if err := seed.Write(0, 0, w, h, cells); err != nil {
			t.Fatal(err)
		}
		out, err := raster.NewPlane[float32](w, h, s)
		if err != nil {
			t.Fatal(err)
		}
		if err := Distance(context.Background(), seed, 128, 10, out, workers); err != nil {
			t.Fatal(err)
		}
		got := make([]float32, w*h)
		if err := out.Read(0, 0, w, h, got); err != nil {
			t.Fatal(err)
		}
		for i := range got {
			if got[i] != want[i] {
				t.Fatalf("scratch files, %d workers, cell %d,%d: %v, in memory %v", workers, i%w, i/w, got[i], want[i])
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// Distances beyond 65 535 rows stay exact: no counter saturates.
func TestDistanceVeryTall(t *testing.T) {
	w, h := 3, 70000
	cells := make([]uint8, w*h)
	cells[1] = 1
	got := distances(t, w, h, cells, 1, 1, 2)
	if want := float32(math.Sqrt(69999*69999 + 1)); got[len(got)-1] != want {
		t.Errorf("last cell: %v, want %v", got[len(got)-1], want)
	}
	if got[len(got)-2] != 69999 {
		t.Errorf("last cell of the seed's column: %v, want 69999", got[len(got)-2])
	}
}

func TestDistanceRefuses(t *testing.T) {
	ctx := context.Background()
	seed, out := raster.PlaneOf(3, 2, make([]uint8, 6)), raster.PlaneOf(2, 3, make([]float32, 6))
	if err := Distance(ctx, seed, 1, 10, out, 1); err == nil {
		t.Error("planes of different size: no error")
	}
	for _, cell := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if err := Distance(ctx, seed, 1, cell, raster.PlaneOf(3, 2, make([]float32, 6)), 1); err == nil {
			t.Errorf("a cell of %v: no error", cell)
		}
	}
	stopped, stop := context.WithCancel(ctx)
	stop()
	if err := Distance(stopped, seed, 1, 10, raster.PlaneOf(3, 2, make([]float32, 6)), 1); err == nil {
		t.Error("a run that was stopped: no error")
	}
}

// Reference library: scipy.ndimage.distance_transform_edt (whatever version is installed).
func TestDistanceAgainstSciPy(t *testing.T) {
	py := python(t, "scipy.ndimage")
	w, h := 701, 530
	rng := rand.New(rand.NewPCG(9, 9))
	cells := make([]uint8, w*h)
	for range 300 {
		cells[rng.IntN(w*h)] = 1
	}
	dir := t.TempDir()
	in, res := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	if err := os.WriteFile(in, cells, 0o644); err != nil {
		t.Fatal(err)
	}
	script := `import sys, numpy as np
from scipy.ndimage import distance_transform_edt as edt
a = np.fromfile(sys.argv[1], np.uint8).reshape(int(sys.argv[3]), -1)
edt(a == 0).astype("<f8").tofile(sys.argv[2])`
	if b, err := exec.Command(py, "-c", script, in, res, "530").CombinedOutput(); err != nil {
		t.Fatalf("scipy: %v\n%s", err, b)
	}
	b, err := os.ReadFile(res)
	if err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for i, v := range distances(t, w, h, cells, 1, 1, 2) {
		want := math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
		// float32 holds 24 bits: compare with the reference rounded alike.
		worst = max(worst, math.Abs(float64(v)-float64(float32(want))))
	}
	if worst > 1e-6 {
		t.Errorf("largest difference from scipy %g cells, want at most 1e-6", worst)
	}
}
