package learn

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

type conjugate struct {
	Prior, Data, Posterior []float64
	Mean                   float64
	Q                      []float64 `json:"q025_q50_q975"`
}

// Conjugate rule, reference case: Beta(1, 9) and 3 of 40.
func TestConjugateRule(t *testing.T) {
	var c conjugate
	readCase(t, "beta_binomial", &c)
	g := Group{Key: "elm", Kin: "elm", Prior: Beta{c.Prior[0], c.Prior[1]}, Sites: []Count{{1, 12}, {0, 8}, {2, 20}}}
	got, err := PooledRates([]Group{g}, Pooling{Level: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	r := got.Groups[0]
	if r.Beta != (Beta{c.Posterior[0], c.Posterior[1]}) || r.X != 3 || r.N != 40 || r.Sites != 3 {
		t.Errorf("%+v, expected Beta(4, 46) of 3 in 40", r)
	}
	near(t, "mean", r.Mean, c.Mean, 1e-15)
	near(t, "low", r.Low, c.Q[0], 1e-8)
	near(t, "high", r.High, c.Q[2], 1e-8)
	if got.RhoTold || got.Rho != (Interval{}) {
		t.Errorf("ρ held at nought, found %+v", got.Rho)
	}
	// The same by the grid: a kin of two whose shift is next to nothing.
	got, err = PooledRates([]Group{g, {Key: "other", Kin: "elm", Prior: Beta{0.01, 10}}}, Pooling{Level: 0.95, KinSD: 1e-9})
	if err != nil {
		t.Fatal(err)
	}
	r = got.Groups[0]
	near(t, "grid mean", r.Mean, c.Mean, 1e-7)
	near(t, "grid low", r.Low, c.Q[0], 1e-6)
	near(t, "grid high", r.High, c.Q[2], 1e-6)
	near(t, "grid a", r.Beta.A, c.Posterior[0], 1e-4)
	near(t, "grid b", r.Beta.B, c.Posterior[1], 1e-3)
	bare := got.Groups[1]
	near(t, "no trees: mean", bare.Mean, bare.Prior.Mean(), 1e-5)
	near(t, "no trees: weight", bare.Beta.Weight(), bare.Prior.Weight(), 0.05)
}

// Many sites of one tree each tell nothing of ρ and all of p: by a flat prior
// the interval lies within that of Clopper and Pearson 1934 (Brown, Cai and
// DasGupta 2001), up to a tree.
func TestSitesOfOneTree(t *testing.T) {
	for _, c := range []struct{ x, n int }{{0, 40}, {3, 40}, {40, 40}, {800, 10000}} {
		sites := make([]Count, c.n)
		for i := range sites {
			sites[i].N = 1
			if i < c.x {
				sites[i].X = 1
			}
		}
		how := DefaultPooling()
		how.Level = 0.95
		got, err := PooledRates([]Group{{Key: "elm", Prior: Beta{0.5, 0.5}, Sites: sites}}, how)
		if err != nil {
			t.Fatal(err)
		}
		x, n := float64(c.x), float64(c.n)
		low, high := 0.0, 1.0
		if c.x > 0 {
			low = distuv.Beta{Alpha: x, Beta: n - x + 1}.Quantile(0.025)
		}
		if c.x < c.n {
			high = distuv.Beta{Alpha: x + 1, Beta: n - x}.Quantile(0.975)
		}
		r := got.Groups[0]
		if !(r.Low >= low && r.High <= high && r.High-r.Low > 0.5*(high-low)) {
			t.Errorf("%d of %d: %g–%g, Clopper and Pearson %g–%g", c.x, c.n, r.Low, r.High, low, high)
		}
		jl, jh := Beta{x + 0.5, n - x + 0.5}.Interval(0.95)
		near(t, "Jeffreys low", r.Low, jl, 1e-4*r.Mean+1e-6)
		near(t, "Jeffreys high", r.High, jh, 2e-4*r.Mean+1e-6)
		if got.RhoTold {
			t.Error("ρ cannot be told from sites of one tree")
		}
		near(t, "ρ of the prior", got.Rho.Mean, 0.1, 1e-3)
		near(t, "ρ of the prior", got.Rho.High, 1-math.Pow(0.05/2, 1.0/9)-0, 0.01)
	}
}

// One site, however large, is one draw of what sites are like.
func TestOneHugeSiteIsOneSite(t *testing.T) {
	got, err := PooledRates([]Group{{Key: "elm", Prior: Beta{0.75, 9.25}, Sites: []Count{{80_000, 1_000_000}}}}, DefaultPooling())
	if err != nil {
		t.Fatal(err)
	}
	if r := got.Groups[0]; !(r.Low < 0.06 && r.High > 0.11 && r.Mean > 0.05 && r.Mean < 0.2) {
		t.Errorf("%+v", r)
	}
}

func TestRatesAtTheEdges(t *testing.T) {
	many := func(n, x, trees int) (out []Count) {
		for range n {
			out = append(out, Count{x, trees})
		}
		return out
	}
	for _, c := range []struct {
		name      string
		sites     []Count
		low, high float64 // bounds of the mean
	}{
		{"nothing", nil, 0.0749, 0.0751},
		{"a site without trees", []Count{{0, 0}}, 0.0749, 0.0751},
		{"one miss", []Count{{0, 1}}, 0.06, 0.0749},
		{"one find", []Count{{1, 1}}, 0.0751, 0.3},
		{"all nought", many(50, 0, 10), 1e-7, 0.01},
		{"all finds", many(50, 10, 10), 0.75, 1},
		{"hundred thousand rows", many(100_000, 1, 8), 0.124, 0.126},
		{"half of the sites full", append(many(40, 10, 10), many(40, 0, 10)...), 0.35, 0.55},
	} {
		t.Run(c.name, func(t *testing.T) {
			// A host of almost no belief beside it, the hardest prior for a grid.
			groups := []Group{
				{Key: "a", Kin: "elm", Prior: Beta{1.5, 18.5}, Sites: c.sites},
				{Key: "b", Kin: "elm", Prior: Beta{0.0075, 9.9925}},
				{Key: "c", Kin: "ash", Prior: Beta{0.0075, 9.9925}, Sites: c.sites},
			}
			alone, err := PooledRates(groups[:1], DefaultPooling())
			if err != nil {
				t.Fatal(err)
			}
			if m := alone.Groups[0].Mean; !(m >= c.low && m <= c.high) {
				t.Errorf("mean %g, expected %g to %g", m, c.low, c.high)
			}
			all, err := PooledRates(groups, DefaultPooling())
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range append(all.Groups, alone.Groups...) {
				if !(r.Low >= 0 && r.Low <= r.High && r.High <= 1 && r.Mean >= r.Low*0.999 && r.Mean > 0 && r.Mean < 1 && r.Beta.A > 0 && r.Beta.B > 0) {
					t.Errorf("%+v", r)
				}
				if math.Abs(r.Beta.Mean()-r.Mean) > 1e-9 {
					t.Errorf("Beta of mean %g for %g", r.Beta.Mean(), r.Mean)
				}
			}
			again, err := PooledRates(groups, DefaultPooling())
			if err != nil || !reflect.DeepEqual(all, again) {
				t.Errorf("a second run differs: %v", err)
			}
		})
	}
}

func TestRatesRefuse(t *testing.T) {
	good := Group{Key: "elm", Prior: Beta{1, 9}}
	for _, c := range []struct {
		g    []Group
		how  Pooling
		want string
	}{
		{nil, DefaultPooling(), "no groups"},
		{[]Group{{Key: "elm", Prior: Beta{1, 9}, Sites: []Count{{3, 2}}}}, DefaultPooling(), `group "elm": 3 of 2`},
		{[]Group{{Key: "elm", Prior: Beta{0, 9}}}, DefaultPooling(), "Beta(0, 9)"},
		{[]Group{good}, Pooling{KinSD: -1, Level: 0.9}, "sd between kin is -1"},
		{[]Group{good}, Pooling{Level: 1}, "level of intervals is 1"},
		{[]Group{good}, Pooling{Level: 0.9, Rho: Beta{1, -1}}, "overdispersion"},
	} {
		if _, err := PooledRates(c.g, c.how); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, expected %q in it", err, c.want)
		}
	}
}
