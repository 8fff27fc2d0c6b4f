package score

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// What cannot be worked out is NaN with a reason; nothing panics.
func TestNothingToScore(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	cases := []struct {
		name   string
		scores []float64
		is     []bool
		auc    string // reason, "" where there is a value
		brier  string
		slope  string
	}{
		{"no records", nil, nil, "no records", "no records", "no records"},
		{"one record", []float64{0.5}, []bool{true}, "all records are yes", "", "all records are yes"},
		{"all no", []float64{0.5, 0.1}, []bool{false, false}, "all records are no", "", "all records are no"},
		{"no scores", []float64{nan, nan}, []bool{true, false}, "no records", "no records", "no records"},
		{"all alike", []float64{0.5, 0.5, 0.5}, []bool{true, false, true}, "", "", "all scores are alike"},
		{"no chances", []float64{3, -2, 1}, []bool{true, false, true}, "", "scores are not chances", "scores are not chances"},
		{"endless", []float64{inf, -inf, 0}, []bool{true, false, true}, "", "scores are not chances", "scores are not chances"},
		{"parted", []float64{0.9, 0.8, 0.1}, []bool{true, true, false}, "", "", "without overlap"},
		{"parted but for a tie", []float64{0.9, 0.5, 0.5, 0.1}, []bool{true, true, false, false}, "", "", "without overlap"},
		{"nought and one", []float64{0, 1, 0, 1, 1}, []bool{false, true, true, false, true}, "", "", ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := Binary(c.scores, c.is)
			check := func(what string, f Figure, reason string) {
				t.Helper()
				if f.Known() != (reason == "") || !strings.Contains(f.Why, reason) {
					t.Errorf("%s: %+v, want reason %q", what, f, reason)
				}
			}
			check("AUC", s.AUC(), c.auc)
			check("AUC by place", s.AUCByPlace(make([]int, len(c.is))), c.auc)
			check("Brier", s.Brier(), c.brier)
			check("slope", s.Logits().Slope, c.slope)
			if table, why := s.Calibration(10); (why == "") != (c.brier == "") || (len(table) == 0) != (why != "") {
				t.Errorf("calibration: %v, %q", table, why)
			}
			if _, err := s.BestCut(); (err == nil) != (c.auc == "") {
				t.Errorf("best cut: %v", err)
			}
			if f := s.Skill(); f.Known() != (c.brier == "" && c.auc == "") {
				t.Errorf("skill: %+v", f)
			}
		})
	}
	if f := Binary([]float64{0.5, 0.5}, []bool{true, false}).AUC(); f.Value != 0.5 {
		t.Errorf("AUC of scores all alike: %+v, want 0.5", f)
	}
}

func TestNothingForBoyce(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name                 string
		presence, background []float64
		want                 string
	}{
		{"no finds", nil, []float64{1, 2}, "no place with a find"},
		{"finds off the map", []float64{nan}, []float64{1, 2}, "no place with a find"},
		{"no map", []float64{1}, nil, "no background"},
		{"all alike", []float64{1, 1}, []float64{1, 1, 1}, "all scores are alike"},
		{"two classes", []float64{1, 1, 0}, []float64{1, 0, 0, 1}, "only 2 different scores"},
		{"endless", []float64{1}, []float64{2, 3, 4, 5, -inf}, "not finite"},
		{"finds beyond the map", []float64{100}, []float64{1, 2, 3, 4, 5}, "all values are alike"},
	} {
		b := Boyce(Weighted{Value: c.presence}, Weighted{Value: c.background}, BoyceOptions{})
		if b.Index.Known() || !strings.Contains(b.Index.Why, c.want) {
			t.Errorf("%s: %+v, want %q", c.name, b.Index, c.want)
		}
	}
	if b := Boyce(Weighted{Value: []float64{0.9, 0.8}}, Weighted{Value: []float64{0, 0.3, 0.6, 0.8, 1}}, BoyceOptions{}); !b.Index.Known() || !math.IsNaN(b.Index.SE) {
		t.Errorf("two finds: %+v, want an index without an error", b.Index)
	}
}

func TestNothingToCorrelate(t *testing.T) {
	nan := math.NaN()
	for name, xy := range map[string][2][]float64{
		"none": {nil, nil}, "one": {{1}, {2}}, "level": {{1, 2, 3}, {4, 4, 4}}, "one known": {{1, nan}, {nan, 2}},
	} {
		if f := Spearman(xy[0], xy[1], nil); f.Known() || f.Why == "" {
			t.Errorf("%s: %+v", name, f)
		}
	}
}

func TestCountsThatCannotBe(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range [][2]float64{{-1, 0}, {2, 3}, {2, -1}, {nan, 0}, {2, nan}, {inf, 1}} {
		if _, err := NewSample([]float64{0.5}, c[:1], c[1:]); err == nil || !strings.Contains(err.Error(), "row 0") {
			t.Errorf("%g of %g: %v", c[1], c[0], err)
		}
	}
	s, err := NewSample([]float64{0.5, nan, 0.2}, []float64{3, 2, 0}, []float64{1, 1, 0})
	if err != nil || s.Missing != 2 || len(s.Score) != 1 || s.Row[0] != 0 {
		t.Errorf("%+v, %v", s, err)
	}
}

func TestBlocksThatCannotBe(t *testing.T) {
	here := []orb.Point{{0, 0}, {10, 10}, {5000, 0}}
	for name, err := range map[string]error{
		"no side":       second(Folds(here, 0, 2)),
		"NaN side":      second(Folds(here, math.NaN(), 2)),
		"NaN point":     second(Folds([]orb.Point{{math.NaN(), 0}, {0, 0}}, 500, 2)),
		"tiny side":     second(Checkerboard(here, 1e-300)),
		"one fold":      second(Folds(here, 500, 1)),
		"too few":       second(BalancedFolds(here, nil, 500, 3)),
		"random of one": second(RandomFolds(1, 2, 1)),
	} {
		if err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func second(_ []int, err error) error { return err }

func TestSideOfNothing(t *testing.T) {
	nan := math.NaN()
	many := make([]orb.Point, 60)
	alike := make([]float64, 60)
	for i := range many {
		many[i] = orb.Point{float64(i%8) * 900, float64(i/8) * 900}
	}
	for _, c := range []struct {
		name      string
		points    []orb.Point
		residuals []float64
	}{
		{"none", nil, nil},
		{"one", many[:1], []float64{1}},
		{"two", many[:2], []float64{1, -1}},
		{"one spot", make([]orb.Point, 50), append([]float64{1}, alike[:49]...)},
		{"all alike", many, alike},
		{"unknown", []orb.Point{{0, 0}, {nan, 1}}, []float64{nan, 2}},
	} {
		s := BlockSide(c.points, c.residuals, SideOptions{})
		if s.M != 500 || s.Range.Known() || s.Range.Why == "" || s.How == "" {
			t.Errorf("%s: %+v", c.name, s)
		}
	}
}
