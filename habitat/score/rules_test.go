package score

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func drawRows(t *rapid.T) (p, of, found []float64) {
	n := rapid.IntRange(1, 40).Draw(t, "rows")
	for range n {
		m := rapid.IntRange(0, 6).Draw(t, "of")
		p = append(p, float64(rapid.IntRange(0, 20).Draw(t, "p"))/20)
		of = append(of, float64(m))
		found = append(found, float64(rapid.IntRange(0, m).Draw(t, "found")))
	}
	return p, of, found
}

func alikeFigures(a, b Figure) bool {
	same := func(x, y float64) bool {
		return math.IsNaN(x) && math.IsNaN(y) || math.Abs(x-y) <= 1e-9*(1+math.Abs(x))
	}
	return same(a.Value, b.Value) && same(a.SE, b.SE)
}

// A row of x of n trees is x rows of yes and n − x of no, for every figure.
func TestRowsOfManyTrialsAreManyRows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, of, found := drawRows(t)
		rows, err := NewSample(p, of, found)
		if err != nil {
			t.Fatal(err)
		}
		var scores []float64
		var is []bool
		for i := range p {
			for k := range int(of[i]) {
				scores, is = append(scores, p[i]), append(is, float64(k) < found[i])
			}
		}
		single := Binary(scores, is)
		a, b := rows.Logits(), single.Logits()
		for name, f := range map[string][2]Figure{
			"AUC": {rows.AUC(), single.AUC()}, "Brier": {rows.Brier(), single.Brier()}, "skill": {rows.Skill(), single.Skill()},
			"TSS": {rows.CutAt(0.5).TSS(), single.CutAt(0.5).TSS()}, "kappa": {rows.CutAt(0.5).Kappa(), single.CutAt(0.5).Kappa()},
			"slope": {a.Slope, b.Slope}, "intercept": {a.Intercept, b.Intercept}, "shift": {a.Shift, b.Shift},
		} {
			if !alikeFigures(f[0], f[1]) {
				t.Errorf("%s: %+v in rows, %+v one by one", name, f[0], f[1])
			}
		}
		x, _ := rows.Calibration(5)
		y, _ := single.Calibration(5)
		if len(x) != len(y) {
			t.Fatalf("%d bins in rows, %d one by one", len(x), len(y))
		}
		trials := 0.0
		for i := range x {
			if x[i].Of != y[i].Of || x[i].Found != y[i].Found || math.Abs(x[i].Said-y[i].Said) > 1e-12 {
				t.Errorf("bin %d: %+v in rows, %+v one by one", i, x[i], y[i])
			}
			if i > 0 && x[i].From <= x[i-1].To {
				t.Errorf("bins part equal chances: %+v, %+v", x[i-1], x[i])
			}
			if !(x[i].Low <= x[i].Seen && x[i].Seen <= x[i].High) {
				t.Errorf("bin %d outside its interval: %+v", i, x[i])
			}
			trials += x[i].Of
		}
		if trials != total(of) {
			t.Errorf("bins hold %g trials of %g", trials, total(of))
		}
	})
}

// Ranks alone decide AUC; turned round it is the rest to one. The best cut is
// the best of all there are.
func TestAUCAndCutsByRanksAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, of, found := drawRows(t)
		stretched, turned := make([]float64, len(p)), make([]float64, len(p))
		for i, v := range p {
			stretched[i], turned[i] = math.Exp(5*v)-100, -v
		}
		a, _ := NewSample(p, of, found)
		b, _ := NewSample(stretched, of, found)
		c, _ := NewSample(turned, of, found)
		if !alikeFigures(a.AUC(), b.AUC()) {
			t.Errorf("stretched: %+v, %+v", a.AUC(), b.AUC())
		}
		if f := a.AUC(); f.Known() && math.Abs(f.Value+c.AUC().Value-1) > 1e-12 {
			t.Errorf("turned round: %g and %g", f.Value, c.AUC().Value)
		}
		best, err := a.BestCut()
		if (err == nil) != (a.bothKinds() == "") {
			t.Fatalf("best cut: %v", err)
		}
		if err != nil {
			return
		}
		for _, v := range p {
			if cut := a.CutAt(v); cut.TSS().Value > best.TSS().Value+1e-9 {
				t.Errorf("TSS %g at %g, %g at the best", cut.TSS().Value, v, best.TSS().Value)
			}
		}
		if again := a.CutAt(best.T); again != best {
			t.Errorf("best cut %+v, counted again %+v", best, again)
		}
	})
}

// Blocks stay whole, every fold has some, the lot is balanced, and the order
// of the points changes nothing.
func TestFoldsKeepBlocksWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "points")
		var points []orb.Point
		var weights []float64
		for range n {
			points = append(points, orb.Point{float64(rapid.IntRange(-5000, 5000).Draw(t, "x")), float64(rapid.IntRange(-5000, 5000).Draw(t, "y"))})
			weights = append(weights, float64(rapid.IntRange(0, 5).Draw(t, "weight")))
		}
		k := rapid.IntRange(2, 5).Draw(t, "k")
		const side = 1500
		blocks, err := Blocks(points, side)
		if err != nil {
			t.Fatal(err)
		}
		used := map[Block]float64{}
		for i, b := range blocks {
			used[b] += weights[i]
			if x := points[i][0] - float64(b.X)*side; x < 0 || x >= side {
				t.Fatalf("%v is not in column %d", points[i], b.X)
			}
		}
		plain, err1 := Folds(points, side, k)
		balanced, err2 := BalancedFolds(points, weights, side, k)
		if (err1 == nil) != (len(used) >= k) || (err2 == nil) != (err1 == nil) {
			t.Fatalf("%d blocks in %d folds: %v, %v", len(used), k, err1, err2)
		}
		if err1 != nil {
			return
		}
		for _, folds := range [][]int{plain, balanced} {
			of := map[Block]int{}
			seen := map[int]bool{}
			for i, b := range blocks {
				if f, ok := of[b]; ok && f != folds[i] {
					t.Fatalf("block %v is in folds %d and %d", b, f, folds[i])
				}
				of[b] = folds[i]
				seen[folds[i]] = true
			}
			if len(seen) != k {
				t.Fatalf("%d folds in use, want %d", len(seen), k)
			}
		}
		load, heaviest := make([]float64, k), 0.0
		for i, f := range balanced {
			load[f] += weights[i]
		}
		for _, w := range used {
			heaviest = max(heaviest, w)
		}
		// The lightest fold is never more than one block behind.
		if slices.Max(load)-slices.Min(load) > heaviest {
			t.Errorf("loads %v, heaviest block %g", load, heaviest)
		}
		turned := slices.Clone(points)
		slices.Reverse(turned)
		again, err := Folds(turned, side, k)
		if err != nil {
			t.Fatal(err)
		}
		slices.Reverse(again)
		if !slices.Equal(again, plain) {
			t.Errorf("another order of points, other folds")
		}
	})
}

func TestRandomFoldsAreEvenAndBySeed(t *testing.T) {
	a, err := RandomFolds(103, 5, 7)
	if err != nil {
		t.Fatal(err)
	}
	b, _ := RandomFolds(103, 5, 7)
	c, _ := RandomFolds(103, 5, 8)
	if !slices.Equal(a, b) || slices.Equal(a, c) {
		t.Errorf("the seed does not decide")
	}
	var size [5]int
	for _, f := range a {
		size[f]++
	}
	if size != [5]int{21, 21, 21, 20, 20} {
		t.Errorf("sizes %v", size)
	}
}

// Doubling every presence or the background changes nothing; a map turned
// round turns the sign where no two windows tie.
func TestBoyceOfWeights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var presence, background, w []float64
		for range rapid.IntRange(2, 20).Draw(t, "presences") {
			presence = append(presence, rapid.Float64Range(0, 1).Draw(t, "p"))
			w = append(w, float64(rapid.IntRange(1, 4).Draw(t, "w")))
		}
		for range 60 {
			background = append(background, rapid.Float64Range(0, 1).Draw(t, "b"))
		}
		a := Boyce(Weighted{presence, w}, Weighted{Value: background}, BoyceOptions{})
		var rows []float64
		for i, p := range presence {
			for range int(w[i]) {
				rows = append(rows, p)
			}
		}
		b := Boyce(Weighted{Value: rows}, Weighted{Value: slices.Concat(background, background)}, BoyceOptions{})
		if math.Abs(a.Index.Value-b.Index.Value) > 1e-9 || math.Abs(a.Distinct.Value-b.Distinct.Value) > 1e-9 {
			t.Errorf("weighted %+v, one by one %+v", a.Index, b.Index)
		}
	})
}
