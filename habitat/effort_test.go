package habitat

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Detection formula n = ln(1−C)/ln(1−p).
func TestTreesToCheck(t *testing.T) {
	var file struct {
		Rows []struct {
			P, C float64
			N    int
		}
	}
	readCase(t, "trees_to_inspect", &file)
	if len(file.Rows) == 0 {
		t.Fatal("no cases")
	}
	for _, r := range file.Rows {
		if n, ok := TreesToCheck(r.P, r.C); !ok || n != r.N {
			t.Errorf("p %g, C %g: got %d, want %d", r.P, r.C, n, r.N)
		}
	}
	for _, c := range []struct {
		name      string
		p, chance float64
		n         int
		ok        bool
	}{
		{"met exactly", 0.5, 0.75, 2, true},
		{"a sure thing", 1, 0.99, 1, true},
		{"nothing wanted", 0.1, 0, 0, true},
		{"never there", 0, 0.5, 0, false},
		{"certainty", 0.5, 1, 40, true}, // within the slack of 1e-12
		{"too rare", 1e-9, 0.95, 0, false},
		{"not a number", math.NaN(), 0.95, 0, false},
	} {
		if n, ok := TreesToCheck(c.p, c.chance); n != c.n || ok != c.ok {
			t.Errorf("%s: got %d, %v; want %d, %v", c.name, n, ok, c.n, c.ok)
		}
	}
}

func TestChanceOfFind(t *testing.T) {
	// Computed independently from 1 − (1 − 3/40)^k.
	for k, want := range map[int]float64{0: 0, 10: 0.541418, 20: 0.789702, 38: 0.948312, 39: 0.952189} {
		near(t, "chance", ChanceOfFind(3.0/40, k), want, 1e-6)
	}
}

// The upper end of the two-sided Clopper–Pearson interval at no finds is
// the one-sided bound at 97.5 %. One-sided at 95 %, 40 trees: 1 − 0.05^(1/40).
func TestUpperAfterNone(t *testing.T) {
	near(t, "0 of 40", UpperAfterNone(40, 0.95), 0.072158, 1e-6)
	near(t, "0 of 40, two-sided", UpperAfterNone(40, 0.975), 0.088097, 1e-6)
	near(t, "0 of 10, two-sided", UpperAfterNone(10, 0.975), 0.308497, 1e-6)
	near(t, "rule of three", UpperAfterNone(1000, 0.95), 3.0/1000, 1e-5)
	near(t, "no trees", UpperAfterNone(0, 0.95), 1, 0)
}

// Conjugate updating: Beta(1,9) and 3 of 40 make Beta(4,46).
func TestBetaBinomial(t *testing.T) {
	var file struct {
		Prior, Posterior, Data []float64
		Mean                   float64
		Quantiles              []float64 `json:"q025_q50_q975"`
		None                   float64   `json:"pred_0_of_10"`
		Tolerance              float64
	}
	readCase(t, "beta_binomial", &file)
	d := Beta{file.Prior[0], file.Prior[1]}.Update(file.Data[0], file.Data[1])
	if want := (Beta{file.Posterior[0], file.Posterior[1]}); d != want {
		t.Errorf("got %v, want %v", d, want)
	}
	near(t, "mean", d.Mean(), file.Mean, file.Tolerance)
	for i, q := range []float64{0.025, 0.5, 0.975} {
		near(t, "quantile", d.Quantile(q), file.Quantiles[i], file.Tolerance)
	}
	near(t, "chance in 10", d.ChanceOfFind(10), 1-file.None, file.Tolerance)
	near(t, "spread", d.SD(), math.Sqrt(4.0*46/(50*50*51)), 1e-12)
	near(t, "no trees", d.ChanceOfFind(0), 0, 0)
}

// The prior of the built-in profile: mean 3/40, 20 trees' worth.
func TestHitRateBeta(t *testing.T) {
	d := HitRate{Hits: 3, Of: 40, Weight: 20}.Beta()
	if d != (Beta{1.5, 18.5}) {
		t.Errorf("got %v, want {1.5 18.5}", d)
	}
}

func TestTreesToCheckProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := rapid.Float64Range(1e-4, 0.999).Draw(r, "p")
		c := rapid.Float64Range(0.01, 0.999).Draw(r, "chance")
		n, ok := TreesToCheck(p, c)
		if !ok || ChanceOfFind(p, n) < c-1e-9 || n > 0 && ChanceOfFind(p, n-1) >= c {
			r.Fatalf("%d trees at p %g for %g: chance %g, one fewer %g", n, p, c, ChanceOfFind(p, n), ChanceOfFind(p, n-1))
		}
		// An uncertain rate calls for at least as many trees as its mean.
		w := rapid.Float64Range(2, 1000).Draw(r, "weight")
		if m, ok := (Beta{w * p, w * (1 - p)}).TreesToCheck(c); ok && m < n {
			r.Fatalf("uncertain rate: %d trees, sure rate %d", m, n)
		}
	})
}

func TestPlanVisit(t *testing.T) {
	for _, c := range []struct {
		name       string
		dead, rate []float64
		want       Visit
	}{
		{"nothing there", []float64{0, 3}, []float64{0.1, 0}, Visit{}},
		// 38.43 trees at 3/40 for 95 %: see TestTreesToCheck.
		{"elms enough", []float64{60}, []float64{0.075}, Visit{39, true, ChanceOfFind(0.075, 60)}},
		{"elms too few", []float64{20}, []float64{0.075}, Visit{39, false, ChanceOfFind(0.075, 20)}},
		// 1 tree at 0.5, then 4.32 − 1 trees' worth of ln(0.05)/ln(0.5) at 0.5.
		{"the likelier host first", []float64{100, 1}, []float64{0.25, 0.5}, Visit{10, true, 1 - math.Pow(0.75, 100)*0.5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := PlanVisit(c.dead, c.rate, 0.95)
			if got.Trees != c.want.Trees || got.Enough != c.want.Enough {
				t.Errorf("got %+v, want %+v", got, c.want)
			}
			near(t, "chance", got.Chance, c.want.Chance, 1e-12)
		})
	}
}

// Checking tree by tree, likeliest first, takes as many as planned.
func TestPlanVisitAgainstCounting(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(r, "hosts")
		dead, rate := make([]float64, n), make([]float64, n)
		for k := range dead {
			dead[k] = float64(rapid.IntRange(0, 40).Draw(r, "dead"))
			rate[k] = float64(n-k) * rapid.Float64Range(0.001, 0.15).Draw(r, "rate")
		}
		v := PlanVisit(dead, rate, 0.9)
		order := make([]bool, n)
		none, count, reached := 1.0, 0, false
		for range n {
			best := -1
			for k := range rate {
				if !order[k] && (best < 0 || rate[k] > rate[best]) {
					best = k
				}
			}
			order[best] = true
			for range int(dead[best]) {
				if !reached {
					count++
				}
				none *= 1 - rate[best]
				reached = reached || none <= 0.1+1e-12
			}
		}
		if v.Enough != reached || reached && v.Trees != count {
			r.Fatalf("planned %+v, counted %d (%v)", v, count, reached)
		}
		if math.Abs(v.Chance-(1-none)) > 1e-9 {
			r.Fatalf("chance %g, counted %g", v.Chance, 1-none)
		}
	})
}
