package learn

import (
	"errors"
	"math"
	"strings"
	"testing"
)

type shuttle struct {
	Temp     []float64 `json:"temp_F"`
	Distress []float64 `json:"distress"`
	ML       struct {
		Coef, SE         []float64
		LogLik, Deviance float64
	} `json:"ml"`
	Firth struct{ Coef []float64 } `json:"firth"`
	Ridge struct {
		Mean     float64              `json:"mean"`
		SD       float64              `json:"sd_pop"`
		ByLambda map[string][]float64 `json:"by_lambda"`
	} `json:"ridge"`
	Tolerance float64
}

func readShuttle(t *testing.T) (s shuttle, x [][]float64) {
	readCase(t, "logistic_shuttle", &s)
	return s, withIntercept(s.Temp)
}

// Dalal, Fowlkes and Hoadley 1989, J. Amer. Stat. Assoc. 84:945–957.
func TestShuttleByLikelihood(t *testing.T) {
	s, x := readShuttle(t)
	f, err := Logistic(x, ones(len(x)), s.Distress, nil, Prior{})
	if err != nil {
		t.Fatal(err)
	}
	for j := range 2 {
		near(t, "coefficient", f.Beta[j], s.ML.Coef[j], s.Tolerance)
		near(t, "standard error", f.SE(j), s.ML.SE[j], s.Tolerance)
	}
	near(t, "log-likelihood", f.LogLik, s.ML.LogLik, s.Tolerance)
	near(t, "log-posterior under flat priors", f.LogPost, s.ML.LogLik, s.Tolerance)
	near(t, "deviance", f.Deviance, s.ML.Deviance, s.Tolerance)
	if f.Separated || !f.Converged {
		t.Errorf("separated %v, converged %v", f.Separated, f.Converged)
	}
	eta, sd := f.Predict([]float64{1, 64.79}, 0) // published temperature of even odds
	near(t, "log-odds at 64.79 °F", eta, 0, 2e-3)
	if !(sd > 0.3 && sd < 1.5) {
		t.Errorf("its sd %g", sd)
	}
}

func TestShuttleNullDeviance(t *testing.T) {
	s, x := readShuttle(t)
	for i := range x {
		x[i] = x[i][:1]
	}
	f, err := Logistic(x, ones(len(x)), s.Distress, nil, Prior{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "null deviance", f.Deviance, 28.2672, 5e-5)
}

// Ridge of le Cessie and van Houwelingen 1992: prior sd 1/√λ on the slope.
func TestShuttleRidge(t *testing.T) {
	s, _ := readShuttle(t)
	z := make([]float64, len(s.Temp))
	for i, v := range s.Temp {
		z[i] = (v - s.Ridge.Mean) / s.Ridge.SD
	}
	for name, lambda := range map[string]float64{"0.1": 0.1, "1": 1, "5": 5} {
		f, err := Logistic(withIntercept(z), ones(len(z)), s.Distress, nil, Prior{SD: []float64{math.Inf(1), 1 / math.Sqrt(lambda)}})
		if err != nil {
			t.Fatal(err)
		}
		for j, want := range s.Ridge.ByLambda[name] {
			near(t, "λ "+name, f.Beta[j], want, s.Tolerance)
		}
	}
}

func TestShuttleFirth(t *testing.T) {
	s, x := readShuttle(t)
	f, err := Firth(x, ones(len(x)), s.Distress, nil)
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range s.Firth.Coef {
		near(t, "coefficient", f.Beta[j], want, s.Tolerance)
	}
}

// Firth 1993: for a 2×2 table as if ½ were added to each cell.
func TestFirthOfTables(t *testing.T) {
	var c struct {
		Cases     []struct{ X0, X1, Coef []float64 }
		Tolerance float64
	}
	readCase(t, "firth_2x2", &c)
	for _, k := range c.Cases {
		x := [][]float64{{1, 0}, {1, 1}}
		y := []float64{k.X0[0], k.X1[0]}
		n := []float64{k.X0[0] + k.X0[1], k.X1[0] + k.X1[1]}
		f, err := Firth(x, n, y, nil)
		if err != nil {
			t.Fatal(err)
		}
		half, err := Logistic(x, []float64{n[0] + 1, n[1] + 1}, []float64{y[0] + 0.5, y[1] + 0.5}, nil, Prior{})
		if err != nil {
			t.Fatal(err)
		}
		for j, want := range k.Coef {
			near(t, "coefficient", f.Beta[j], want, c.Tolerance)
			near(t, "½ added", half.Beta[j], want, c.Tolerance)
		}
		if f.Separated != (y[0] == 0) {
			t.Errorf("%v of %v: separated %v", y, n, f.Separated)
		}
	}
}

// Heinze and Schemper 2002, the 79 cases where one column parts the rows.
func TestFirthOfPartedCases(t *testing.T) {
	var c struct {
		Rows      [][]float64
		Firth     struct{ Coef []float64 }
		Tolerance float64
	}
	readCase(t, "firth_endometrial", &c)
	x, y := make([][]float64, len(c.Rows)), make([]float64, len(c.Rows))
	for i, r := range c.Rows {
		x[i], y[i] = []float64{1, r[0], r[1], r[2]}, r[3]
	}
	f, err := Firth(x, ones(len(x)), y, nil)
	if err != nil {
		t.Fatal(err)
	}
	for j, want := range c.Firth.Coef {
		near(t, "coefficient", f.Beta[j], want, c.Tolerance)
	}
	if !f.Separated {
		t.Error("not seen as separated")
	}
	if g, err := Logistic(x, ones(len(x)), y, nil, Prior{}); !errors.Is(err, ErrSeparated) || !g.Separated {
		t.Errorf("flat prior: %v, %v", g, err)
	}
	// A proper prior on the column that parts is enough.
	inf := math.Inf(1)
	g, err := Logistic(x, ones(len(x)), y, nil, Prior{SD: []float64{inf, 2.5, inf, inf}})
	if err != nil || !g.Separated || !(g.Beta[1] > 0 && g.Beta[1] < 10) {
		t.Errorf("proper prior: %v, %v", g.Beta, err)
	}
	// One on another column is not.
	if _, err := Logistic(x, ones(len(x)), y, nil, Prior{SD: []float64{inf, inf, 1, 1}}); !errors.Is(err, ErrSeparated) {
		t.Errorf("prior on another column: %v", err)
	}
	// Held to at most nought, the column cannot run off upwards.
	g, err = Logistic(x, ones(len(x)), y, nil, Prior{Sign: []int8{0, -1, 0, 0}})
	if err != nil || g.Beta[1] != 0 {
		t.Errorf("held: %v, %v", g.Beta, err)
	}
}

func TestRefusals(t *testing.T) {
	x := [][]float64{{1, 2}, {1, 3}}
	n, y := []float64{1, 1}, []float64{0, 1}
	for _, c := range []struct {
		name  string
		x     [][]float64
		n, y  []float64
		prior Prior
		want  string
	}{
		{"too many successes", x, n, []float64{0, 2}, Prior{}, "row 2: 2 successes of 1 trials"},
		{"not a number", [][]float64{{1, 2}, {1, math.NaN()}}, n, y, Prior{}, "row 2, column 2"},
		{"ragged", [][]float64{{1, 2}, {1}}, n, y, Prior{}, "row 2 has 1 columns"},
		{"lengths", x, n[:1], y, Prior{}, "trials for 1"},
		{"prior length", x, n, y, Prior{SD: []float64{1}}, "1 standard deviations for 2"},
		{"prior nought", x, n, y, Prior{SD: []float64{1, 0}}, "coefficient 2: sd 0"},
		{"repeated column", [][]float64{{1, 1}, {1, 1}, {1, 1}}, []float64{2, 2, 2}, []float64{1, 1, 0}, Prior{}, "cannot be told apart"},
		{"empty column", [][]float64{{1, 0}, {1, 0}}, []float64{2, 2}, []float64{1, 1}, Prior{}, "cannot be told apart"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Logistic(c.x, c.n, c.y, nil, c.prior); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, expected %q in it", err, c.want)
			}
		})
	}
}
