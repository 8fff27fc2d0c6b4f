package score

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// A row is never predicted by a fit that has seen it, and each is predicted
// once; background by every fold.
func TestNoRowIsSeenBeforeItIsPredicted(t *testing.T) {
	const n = 40
	r := Records{Yes: make([]float64, n), No: make([]float64, n), Background: 3}
	folds, err := RandomFolds(n, 4, 1)
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		r.Yes[i], r.No[i] = float64(i%2), float64(1-i%2)
	}
	fits := 0
	s, err := CrossValidate(r, folds, func(train []int) (func(int) float64, error) {
		fits++
		if !slices.IsSorted(train) || len(train) != 30 {
			t.Errorf("train: %v", train)
		}
		return func(row int) float64 {
			if row >= n+3 {
				t.Errorf("asked for row %d", row)
			}
			if slices.Contains(train, row) {
				return 0.9 // would be seen in Predicted
			}
			return 0.25
		}, nil
	})
	if err != nil || fits != 4 {
		t.Fatalf("%d fits, %v", fits, err)
	}
	for i, p := range s.Predicted {
		if p != 0.25 {
			t.Errorf("row %d: predicted %g by a fit that has seen it", i, p)
		}
	}
	if s.Beyond.Value != 1 || s.BoyceOver != "map" || s.Records != n || s.Found != n/2 {
		t.Errorf("%+v", s)
	}
}

// A fit of one chance for all: pooled, folds with fewer yes are given a higher
// chance, so AUC falls below a half; within folds it is a half.
func TestPooledAUCOfNoSkillIsBelowAHalf(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	var rec Records
	for range 60 {
		y := float64(r.IntN(2))
		rec.Yes, rec.No = append(rec.Yes, y), append(rec.No, 1-y)
	}
	folds, err := RandomFolds(60, 5, 1)
	if err != nil {
		t.Fatal(err)
	}
	s, err := CrossValidate(rec, folds, ClassRates(rec, make([]float64, 60)))
	if err != nil {
		t.Fatal(err)
	}
	if s.AUCWithin.Value != 0.5 || s.AUC.Value >= 0.5 || s.Skill.Value > 0 {
		t.Errorf("AUC %g, within folds %g, skill %g", s.AUC.Value, s.AUCWithin.Value, s.Skill.Value)
	}
}

// nearest is a fit that knows nothing but where records were: each place is
// like the five seen ones nearest to it.
func nearest(points []orb.Point, r Records) Fit {
	return func(train []int) (func(int) float64, error) {
		return func(row int) float64 {
			near := slices.Clone(train)
			slices.SortFunc(near, func(a, b int) int {
				da := math.Hypot(points[a][0]-points[row][0], points[a][1]-points[row][1])
				db := math.Hypot(points[b][0]-points[row][0], points[b][1]-points[row][1])
				switch {
				case da < db:
					return -1
				case da > db:
					return 1
				}
				return a - b
			})
			sum := 0.5
			for _, i := range near[:5] {
				sum += r.Yes[i]
			}
			return sum / 6
		}, nil
	}
}

// patchy is records of a field with a range of 3 km.
func patchy(t testing.TB) ([]orb.Point, Records) {
	r := rand.New(rand.NewPCG(43, 44))
	points := scatter(r, 200, 20000)
	z := field(t, r, points, 3000)
	var rec Records
	for _, v := range z {
		y := 0.0
		if v+0.3*r.NormFloat64() > 0 {
			y = 1
		}
		rec.Yes, rec.No = append(rec.Yes, y), append(rec.No, 1-y)
	}
	return points, rec
}

// A map that only remembers places looks good on random folds and is nothing
// on unseen blocks: the report must show both.
func TestBlocksUnmaskMemory(t *testing.T) {
	points, rec := patchy(t)
	flat := func([]int) (func(int) float64, error) { return func(int) float64 { return 0.5 }, nil }
	r, err := Evaluate(Study{
		Points: points, Records: rec, Seed: 3,
		Models: []Model{{"one chance for all", flat}, {"memory of places", nearest(points, rec)}},
	})
	if err != nil {
		t.Fatal(err)
	}
	m := r.Maps[1]
	t.Logf("side %.0f m; AUC of memory: random %.3f, unseen blocks %.3f", r.Side.M, m.Random.AUC.Value, m.Blocked.AUC.Value)
	if r.Side.M < 1500 {
		t.Errorf("side %.0f m: %s", r.Side.M, r.Side.How)
	}
	if m.Random.AUC.Value-m.Blocked.AUC.Value < 0.1 || m.Random.AUC.Value < 0.7 {
		t.Errorf("AUC %.3f on random folds, %.3f on unseen blocks", m.Random.AUC.Value, m.Blocked.AUC.Value)
	}
	if text := strings.Join(r.Warnings, "\n"); !strings.Contains(text, "memory of places: random folds flatter by") {
		t.Errorf("no warning that random folds flatter: %s", text)
	}
}

func TestFitsThatFail(t *testing.T) {
	r := Records{Yes: []float64{1, 0, 1, 0}, No: []float64{0, 1, 0, 1}}
	s, err := CrossValidate(r, []int{0, 0, 1, 1}, func(train []int) (func(int) float64, error) {
		if train[0] == 0 {
			return nil, errors.New("will not")
		}
		return func(row int) float64 { return 0.5 + r.Yes[row]/4 }, nil
	})
	if err != nil || len(s.Notes) != 1 || !strings.Contains(s.Notes[0], "fold 2 of 2 could not be fitted: will not") || s.Unscored != 2 || s.AUC.Value != 1 {
		t.Errorf("%+v, %v", s, err)
	}
	none := func([]int) (func(int) float64, error) { return nil, errors.New("will not") }
	if s, err := CrossValidate(r, []int{0, 0, 1, 1}, none); err != nil || s.AUC.Known() || s.Records != 0 {
		t.Errorf("%+v, %v", s, err)
	}
	for _, folds := range [][]int{{0, 0, 0, 0}, {0, 1, -1, 0}} {
		if _, err := CrossValidate(r, folds, none); err == nil {
			t.Errorf("folds %v pass", folds)
		}
	}
}

// Cover with elm or without: ranks as it stands, chances from the other folds.
func TestNaiveMaps(t *testing.T) {
	var rec Records
	var class, height []float64
	for i := range 100 {
		has := float64(i % 2)
		y := 0.0
		if i%10 < 2 || has == 1 && i%4 == 1 {
			y = 1
		}
		rec.Yes, rec.No = append(rec.Yes, y), append(rec.No, 1-y)
		class, height = append(class, has), append(height, -float64(i))
	}
	folds, err := RandomFolds(100, 5, 1)
	if err != nil {
		t.Fatal(err)
	}
	s, err := naiveScores(rec, folds, class)
	if err != nil {
		t.Fatal(err)
	}
	want := mustSample(t, class, slices.Repeat([]float64{1}, 100), rec.Yes).AUC()
	if s.AUC != want || !s.Brier.Known() || !(s.Skill.Value > 0) {
		t.Errorf("classes: AUC %+v, want %+v; Brier %+v, skill %+v", s.AUC, want, s.Brier, s.Skill)
	}
	h, err := naiveScores(rec, folds, height)
	if err != nil || h.Brier.Known() || !h.AUC.Known() || !strings.Contains(h.Brier.Why, "not chances") {
		t.Errorf("height: %+v, %+v, %v", h.AUC, h.Brier, err)
	}
}
