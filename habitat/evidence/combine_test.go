package evidence

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rillwood/raster"
)

// randomItems makes n items of k classes each. In patches cells come in runs,
// as on a map.
func randomItems(rng *rand.Rand, f raster.Frame, n, k int, patches bool) []Item {
	items := make([]Item, n)
	for i := range items {
		cells := make([]uint8, f.Cells())
		for j := range cells {
			if patches && j > 0 && rng.IntN(40) != 0 {
				cells[j] = cells[j-1]
				continue
			}
			cells[j] = uint8(rng.IntN(k + 1))
		}
		items[i] = Item{Layer: fmt.Sprint("layer ", i), Plane: raster.PlaneOf(f.W, f.H, cells)}
		for range k {
			items[i].Classes = append(items[i].Classes, Class{Shift: float64(rng.IntN(25)-12) / 4})
		}
	}
	return items
}

// plainCombine weighs one cell as the rule is told in words.
func plainCombine(items []Item, r Rule, cell int) int8 {
	var up, down []float64
	for _, it := range items {
		if v := it.Plane.Mem()[cell]; v > 0 {
			if s := it.Classes[v-1].Shift; s > 0 {
				up = append(up, s)
			} else {
				down = append(down, -s)
			}
		}
	}
	total := 0.0
	for sign, list := range map[float64][]float64{1: up, -1: down} {
		slices.Sort(list)
		slices.Reverse(list)
		for i, s := range list {
			total += sign * s * math.Pow(r.Temper, float64(i))
		}
	}
	total = max(-r.Cap, min(r.Cap, total))
	return int8(max(-126, min(126, math.Round(16*total))))
}

func cellsOf[T raster.Elem](t testing.TB, p *raster.Plane[T]) []T {
	t.Helper()
	w, h := p.Size()
	out := make([]T, w*h)
	if err := p.Read(0, 0, w, h, out); err != nil {
		t.Fatal(err)
	}
	return out
}

// Both ways of finding a combination, any number of workers, in memory and in
// files: the same as cell by cell. Shifts are quarters and Temper is a half, so
// that sums are exact and halves of a step round alike.
func TestCombinePlanesAgainstCellByCell(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 7))
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	for round := range 40 {
		f := raster.Frame{W: 1 + rng.IntN(90), H: 1 + rng.IntN(200), Cell: 10}
		items := randomItems(rng, f, 1+rng.IntN(5), 1+rng.IntN(9), round%2 == 0)
		rule := Rule{Temper: 0.5, Cap: []float64{1, 2.5, 7.5}[round%3], Certainty: 3}
		want := make([]int8, f.Cells())
		stats := Stats{Min: math.Inf(1), Max: math.Inf(-1)}
		for i := range want {
			want[i] = plainCombine(items, rule, i)
			v := float64(want[i]) / 16
			stats.Min, stats.Max = min(stats.Min, v), max(stats.Max, v)
			if v > 0 {
				stats.Up++
			} else if v < 0 {
				stats.Down++
			}
		}
		for _, c := range []struct {
			name            string
			combos, workers int
			scratch         *raster.Scratch
		}{{"tabulated", maxCombos, 1, nil}, {"remembered", 0, 3, nil}, {"in files", maxCombos, 3, scratch}} {
			p, got, err := combinePlanes(t.Context(), items, rule, f, c.scratch, c.workers, c.combos)
			if err != nil {
				t.Fatal(err)
			}
			if i := firstDifference(cellsOf(t, p), want); i >= 0 {
				t.Fatalf("round %d, %s: cell %d is %d, want %d", round, c.name, i, cellsOf(t, p)[i], want[i])
			}
			if d := cmp.Diff(stats, got); d != "" {
				t.Errorf("round %d, %s: counts (-want +got):\n%s", round, c.name, d)
			}
			p.Close()
		}
	}
}

func firstDifference[T comparable](a, b []T) int {
	for i := range a {
		if a[i] != b[i] {
			return i
		}
	}
	return -1
}

func TestCombinePlanesOfNothing(t *testing.T) {
	f := raster.Frame{W: 3, H: 2, Cell: 10}
	p, stats, err := CombinePlanes(t.Context(), nil, DefaultRule(), f, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	if got := cellsOf(t, p); !slices.Equal(got, make([]int8, 6)) || stats != (Stats{}) {
		t.Errorf("got %v, %+v; want nothing", got, stats)
	}
}

func TestCombinePlanesRefuses(t *testing.T) {
	f := raster.Frame{W: 2, H: 2, Cell: 10}
	items := randomItems(rand.New(rand.NewPCG(1, 1)), f, maxItems+1, 2, false)
	if _, _, err := CombinePlanes(t.Context(), items, DefaultRule(), f, nil, 1); err == nil || !strings.Contains(err.Error(), "17 fields") {
		t.Errorf("17 items: error %v", err)
	}
	if _, _, err := CombinePlanes(t.Context(), items[:2], Rule{Temper: 2}, f, nil, 1); err == nil || !strings.Contains(err.Error(), "temper") {
		t.Errorf("temper 2: error %v", err)
	}
	p, _, err := CombinePlanes(t.Context(), items[:maxItems], DefaultRule(), f, nil, 1)
	if err != nil {
		t.Fatalf("%d items: %v", maxItems, err)
	}
	for i, v := range cellsOf(t, p) {
		if want := plainCombine(items[:maxItems], DefaultRule(), i); v != want {
			t.Errorf("cell %d of %d items is %d, want %d", i, maxItems, v, want)
		}
	}
}

// The plane never holds more than Cap, which need not be a whole number of steps.
func TestStepsStayWithinCap(t *testing.T) {
	for _, c := range []struct {
		cap, shift float64
		want       int8
	}{{2.04, 2.04, 32}, {2.04, -2.04, -32}, {7.9, 7.9, 126}, {7.9, -7.9, -126}, {0, 0, 0}, {3, 0.03, 0}, {3, 0.03125, 1}, {3, -0.03125, -1}, {3, 1, 16}} {
		if got := (Rule{Cap: c.cap}).steps(c.shift); got != c.want {
			t.Errorf("cap %g, shift %g: %d steps, want %d", c.cap, c.shift, got, c.want)
		}
	}
}
