package learn

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// scikit-learn minimises ½|β|² + C·Σ loss, so C is the prior's variance; the
// intercept, being a column here, has the same prior.
func TestLogisticAgainstScikitLearn(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 1))
	type question struct {
		X    [][]float64
		Y, W []float64
		C    float64
	}
	var ask []question
	var fits []Fit
	for range 10 {
		q := question{C: math.Exp(rng.NormFloat64())}
		for range 40 {
			row := []float64{1, rng.NormFloat64(), rng.NormFloat64()}
			q.X, q.W = append(q.X, row), append(q.W, 0.2+rng.Float64())
			y := 0.0
			if rng.Float64() < logistic(row[1]-0.5*row[2]) {
				y = 1
			}
			q.Y = append(q.Y, y)
		}
		weighted := make([]float64, len(q.Y))
		for i := range q.Y {
			weighted[i] = q.W[i] * q.Y[i]
		}
		sd := math.Sqrt(q.C)
		f, err := Logistic(q.X, q.W, weighted, nil, Prior{SD: []float64{sd, sd, sd}})
		if err != nil {
			t.Fatal(err)
		}
		ask, fits = append(ask, q), append(fits, f)
	}
	var answer [][]float64
	askPython(t, "numpy, sklearn.linear_model", `
import warnings
warnings.filterwarnings("ignore")
out = []
for q in ask:
    m = sklearn.linear_model.LogisticRegression(C=q["C"], fit_intercept=False, tol=1e-9, max_iter=500, solver="newton-cholesky")
    m.fit(numpy.array(q["X"]), numpy.array(q["Y"]), sample_weight=numpy.array(q["W"]))
    out.append(list(m.coef_[0]))
print(json.dumps(out))
`, ask, &answer)
	for k, want := range answer {
		for j := range want {
			near(t, "coefficient", fits[k].Beta[j], want[j], 1e-6)
		}
	}
}

// Separation is a question of linear programming: is there a direction with
// Σ gain > 0 where no row loses (Albert and Anderson 1984, from memory)?
func TestSeparationAgainstLinearProgramming(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 2))
	type question struct {
		X    [][]float64
		Y    []float64 // 0, 0.5, 1
		Sign []int8
	}
	var ask []question
	var got []bool
	for range 400 {
		q := question{}
		columns := 2 + rng.IntN(3)
		for range columns {
			q.Sign = append(q.Sign, int8(max(0, rng.IntN(4)-2)-max(0, rng.IntN(6)-4)))
		}
		n, y := []float64{}, []float64{}
		for range 3 + rng.IntN(14) {
			row := []float64{1}
			for j := 1; j < columns; j++ {
				v := rng.NormFloat64() * 3
				if j == 1 || rng.IntN(2) == 0 {
					v = math.Round(v) // ties make quasi-complete separation
				}
				row = append(row, v)
			}
			share := float64(rng.IntN(2))
			if rng.IntN(12) == 0 {
				share = 0.5
			} else if rng.IntN(3) > 0 && row[1] != 0 {
				share = 0
				if row[1] > 0 {
					share = 1
				}
			}
			q.X, q.Y = append(q.X, row), append(q.Y, share)
			n, y = append(n, 2), append(y, 2*share)
		}
		f, err := Logistic(q.X, n, y, nil, Prior{Sign: q.Sign})
		if err != nil && !errors.Is(err, ErrSeparated) && !errors.Is(err, errFlatGround) {
			t.Fatal(err)
		}
		if err == nil && f.Separated {
			t.Error("separated, yet fitted under a flat prior")
		}
		ask, got = append(ask, q), append(got, f.Separated)
	}
	var want []bool
	askPython(t, "numpy, scipy.optimize", `
out = []
for q in ask:
    x, y = numpy.array(q["X"]), numpy.array(q["Y"])
    s = numpy.where(y == 1, 1.0, -1.0)[:, None] * x
    pure, mixed = s[y != 0.5], x[y == 0.5]
    if len(pure) == 0:
        out.append(False)
        continue
    side = [(-1 if g <= 0 else 0, 1 if g >= 0 else 0) for g in q["Sign"]]
    r = scipy.optimize.linprog(-pure.sum(axis=0), A_ub=-pure, b_ub=numpy.zeros(len(pure)),
        A_eq=mixed if len(mixed) else None, b_eq=numpy.zeros(len(mixed)) if len(mixed) else None, bounds=side, method="highs")
    out.append(bool(-r.fun > 1e-7))
print(json.dumps(out))
`, ask, &want)
	yes := 0
	for k := range want {
		if want[k] {
			yes++
		}
		if got[k] != want[k] {
			t.Errorf("%d: separated %v, linear programming says %v: %v", k, got[k], want[k], ask[k])
		}
	}
	if yes < 60 || yes > 340 {
		t.Errorf("%d of %d are separated: the test is lopsided", yes, len(want))
	}
}
