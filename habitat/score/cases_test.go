package score

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
)

// Hanley and McNeil 1982; Brier 1950; Allouche and others 2006: the numbers of
// fixtures/cases/auc_brier_tss.json, which scikit-learn gives too.
func TestPublishedScores(t *testing.T) {
	var c struct {
		Presence []float64 `json:"presence_scores"`
		Absence  []float64 `json:"absence_scores"`
		U        float64
		AUC      float64
		SE       float64 `json:"hanley_mcneil_se"`
		Brier    float64
		Skill    float64 `json:"brier_skill"`
		Cuts     []struct {
			T, TP, FP, FN, TN, Sens, Spec, TSS float64
		} `json:"tss_by_threshold_ge"`
		Best      float64 `json:"best_threshold"`
		Kappa     float64 `json:"kappa_at_0.7"`
		Tolerance float64
	}
	readCase(t, "auc_brier_tss", &c)
	var scores []float64
	var is []bool
	for _, v := range c.Presence {
		scores, is = append(scores, v), append(is, true)
	}
	for _, v := range c.Absence {
		scores, is = append(scores, v), append(is, false)
	}
	s := Binary(scores, is)
	near(t, "U", s.pairsWon(), c.U, 0)
	auc, se := AUC(scores, is)
	near(t, "AUC", auc, c.AUC, c.Tolerance)
	near(t, "SE", se, c.SE, c.Tolerance)
	brier, skill := Brier(scores, is)
	near(t, "Brier", brier, c.Brier, c.Tolerance)
	near(t, "skill", skill, c.Skill, c.Tolerance)
	if len(c.Cuts) == 0 {
		t.Fatal("no thresholds in the case")
	}
	for _, want := range c.Cuts {
		got := s.CutAt(want.T)
		if got != (Cut{want.T, want.TP, want.FP, want.FN, want.TN}) {
			t.Errorf("at %g: got %+v, want %+v", want.T, got, want)
		}
		near(t, "sensitivity", got.Sensitivity().Value, want.Sens, c.Tolerance)
		near(t, "specificity", got.Specificity().Value, want.Spec, c.Tolerance)
		near(t, "TSS", got.TSS().Value, want.TSS, c.Tolerance)
	}
	near(t, "kappa at 0.7", s.CutAt(0.7).Kappa().Value, c.Kappa, c.Tolerance)
	best, err := s.BestCut()
	if err != nil || best != s.CutAt(c.Best) {
		t.Errorf("best threshold: got %+v, %v, want %g", best, err, c.Best)
	}
}

// Boyce and others 2002; Hirzel and others 2006: a worked example.
func TestPublishedBoyce(t *testing.T) {
	var c struct {
		Presence []float64 `json:"presence_scores"`
		Range    [2]float64
		Width    float64 `json:"window_width"`
		Steps    int     `json:"n_steps"`
		Windows  []struct{ Lo, Hi, P, E, PE float64 }
		Spearman float64
		Tol      float64 `json:"tolerance"`
	}
	readCase(t, "boyce_continuous", &c)
	var background []float64
	for i := range 100 {
		background = append(background, (float64(i)+0.5)/100) // 0.005, 0.015, …
	}
	got := Boyce(Weighted{Value: c.Presence}, Weighted{Value: background},
		BoyceOptions{Width: c.Width, Steps: c.Steps, Low: c.Range[0], High: c.Range[1]})
	near(t, "index", got.Index.Value, c.Spearman, c.Tol)
	near(t, "index of distinct ratios", got.Distinct.Value, 1, c.Tol) // the ratios never fall
	if len(got.Windows) != len(c.Windows) || len(c.Windows) == 0 {
		t.Fatalf("%d windows, want %d", len(got.Windows), len(c.Windows))
	}
	for k, want := range c.Windows {
		w := got.Windows[k]
		for _, v := range []struct {
			what      string
			got, want float64
		}{{"low", w.Low, want.Lo}, {"high", w.High, want.Hi}, {"P", w.Presence, want.P}, {"E", w.Background, want.E}, {"P/E", w.Ratio, want.PE}} {
			near(t, v.what, v.got, v.want, c.Tol)
		}
	}
}

// Roberts and others 2017: the rule, with points and folds.
func TestPublishedBlocks(t *testing.T) {
	var c struct {
		Points       []orb.Point
		Size         float64 `json:"block_size"`
		K            int
		Blocks       [][2]int
		Folds        []int
		Checkerboard []int
	}
	readCase(t, "spatial_blocks", &c)
	blocks, err := Blocks(c.Points, c.Size)
	if err != nil {
		t.Fatal(err)
	}
	folds, err := Folds(c.Points, c.Size, c.K)
	if err != nil {
		t.Fatal(err)
	}
	board, err := Checkerboard(c.Points, c.Size)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Points) == 0 {
		t.Fatal("no points in the case")
	}
	for i, p := range c.Points {
		if want := (Block{c.Blocks[i][0], c.Blocks[i][1]}); blocks[i] != want || folds[i] != c.Folds[i] || board[i] != c.Checkerboard[i] {
			t.Errorf("%v: block %v fold %d board %d, want %v, %d, %d", p, blocks[i], folds[i], board[i], want, c.Folds[i], c.Checkerboard[i])
		}
	}
}

// Wilson 1927, tabulated in fixtures/cases/binomial_intervals.json.
func TestPublishedWilson(t *testing.T) {
	var c struct {
		Rows []struct {
			X, N   float64
			Wilson [2]float64 `json:"wilson95"`
		}
	}
	readCase(t, "binomial_intervals", &c)
	if len(c.Rows) == 0 {
		t.Fatal("no rows in the case")
	}
	for _, r := range c.Rows {
		low, high := Wilson(r.X, r.N, 0.95)
		near(t, "low", low, r.Wilson[0], 1e-6)
		near(t, "high", high, r.Wilson[1], 1e-6)
	}
	if low, high := Wilson(0, 0, 0.95); low != 0 || high != 1 {
		t.Errorf("of no trials: %g to %g", low, high)
	}
}

// A spherical semivariogram without noise gives its range back.
func TestRangeOfAPerfectSemivariogram(t *testing.T) {
	for _, want := range []float64{800, 2500, 6000} {
		var lags []Lag
		for _, d := range []float64{100, 200, 400, 700, 1000, 1500, 2200, 3000, 4200, 6000, 8000} {
			g := 0.2 + 0.8*spherical(d/want)
			lags = append(lags, Lag{DistanceM: d, Pairs: 400, Gamma: g, Correlation: 1 - g})
		}
		got := rangeOf(lags)
		if !(math.Abs(math.Log(got.Value/want)) < 0.06) { // ranges tried are 5.7 % apart
			t.Errorf("range %.0f m, want %.0f", got.Value, want)
		}
	}
}
