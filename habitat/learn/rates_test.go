package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
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

// Slow reference: p and ρ over an even grid in p and in ρ, likelihood by gamma
// functions.
func slowRate(prior, rho Beta, sites []Count, level float64) (Interval, float64) {
	const np, nr = 3000, 250
	density := make([]float64, np)
	var rhoMean, all float64
	beta, overdispersion := distuv.Beta{Alpha: prior.A, Beta: prior.B}, distuv.Beta{Alpha: rho.A, Beta: rho.B}
	lg := func(v float64) float64 { g, _ := math.Lgamma(v); return g }
	for j := range nr {
		r := (float64(j) + 0.5) / nr
		s := 1/r - 1
		for i := range np {
			p := (float64(i) + 0.5) / np
			v := beta.LogProb(p) + overdispersion.LogProb(r)
			for _, c := range sites {
				x, n := float64(c.X), float64(c.N)
				v += lg(p*s+x) - lg(p*s) + lg((1-p)*s+n-x) - lg((1-p)*s) - lg(s+n) + lg(s)
			}
			w := math.Exp(v)
			density[i] += w
			rhoMean += w * r
			all += w
		}
	}
	out := Interval{Low: -1}
	var sum float64
	for i, w := range density {
		p := (float64(i) + 0.5) / np
		out.Mean += w * p / all
		if sum += w / all; out.Low < 0 && sum > (1-level)/2 {
			out.Low = p
		}
		if sum < (1+level)/2 {
			out.High = p
		}
	}
	return out, rhoMean / all
}

func TestRatesAgainstSlowReference(t *testing.T) {
	for _, sites := range [][]Count{
		{{0, 4}, {2, 5}, {0, 3}, {1, 9}},
		{{5, 5}, {0, 6}, {4, 4}, {0, 7}},
		{{0, 1}, {0, 2}, {0, 30}},
		{{6, 6}, {3, 3}},
	} {
		prior, rho := Beta{1.5, 12}, Beta{1.5, 9}
		want, rhoMean := slowRate(prior, rho, sites, 0.9)
		got, err := PooledRates([]Group{{Key: "elm", Prior: prior, Sites: sites}}, Pooling{Rho: rho, Level: 0.9})
		if err != nil {
			t.Fatal(err)
		}
		r := got.Groups[0]
		near(t, "mean", r.Mean, want.Mean, 3e-4)
		near(t, "low", r.Low, want.Low, 6e-4)
		near(t, "high", r.High, want.High, 1e-3)
		near(t, "ρ", got.Rho.Mean, rhoMean, 1e-3)
	}
}

// Kin: drawn from the priors and weighed by the likelihood, 150 000 times.
func TestKinAgainstWeighedDraws(t *testing.T) {
	groups := []Group{
		{Key: "first", Kin: "elm", Prior: Beta{2, 18}, Sites: []Count{{4, 10}, {2, 8}}},
		{Key: "second", Kin: "elm", Prior: Beta{1, 12}, Sites: []Count{{1, 3}}},
		{Key: "third", Kin: "elm", Prior: Beta{1, 20}},
		{Key: "apart", Kin: "ash", Prior: Beta{1, 20}},
	}
	how := Pooling{KinSD: 0.8, Rho: Beta{2, 9}, Level: 0.9}
	got, err := PooledRates(groups, how)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(13, 5))
	sum, all, rhoSum := make([]float64, 3), 0.0, 0.0
	rho := distuv.Beta{Alpha: 2, Beta: 9, Src: rng}
	for range 150_000 {
		shift, r := rng.NormFloat64()*how.KinSD, rho.Rand()
		w, p := 0.0, make([]float64, 3)
		for k := range p {
			q := distuv.Beta{Alpha: groups[k].Prior.A, Beta: groups[k].Prior.B, Src: rng}.Rand()
			p[k] = logistic(logit(q) + shift)
			w += newTally(groups[k].Sites).logLik(logit(p[k]), r/(1-r))
		}
		w = math.Exp(w)
		all += w
		rhoSum += w * r
		for k := range p {
			sum[k] += w * p[k]
		}
	}
	for k := range sum {
		near(t, groups[k].Key, got.Groups[k].Mean, sum[k]/all, 0.03*sum[k]/all)
	}
	near(t, "ρ", got.Rho.Mean, rhoSum/all, 0.02*rhoSum/all)
	if a := got.Groups[3]; a.Beta != a.Prior {
		t.Errorf("other kin moved: %+v", a)
	}
	if !(got.Groups[2].Mean > 1.15*groups[2].Prior.Mean()) {
		t.Errorf("kin without trees did not move: %+v", got.Groups[2])
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

// The tallies against SciPy's beta-binomial, long sites included.
func TestTallyAgainstSciPy(t *testing.T) {
	type question struct {
		P, Rho float64
		Sites  [][2]int
	}
	rng := rand.New(rand.NewPCG(13, 6))
	var ask []question
	var got []float64
	for range 60 {
		q := question{P: 0.01 + 0.98*rng.Float64(), Rho: math.Exp(-9*rng.Float64()) * 0.98}
		var sites []Count
		for range 1 + rng.IntN(8) {
			n := rng.IntN(8)
			if rng.IntN(3) == 0 {
				n = rng.IntN(2000)
			}
			x := rng.IntN(n + 1)
			q.Sites, sites = append(q.Sites, [2]int{x, n}), append(sites, Count{x, n})
		}
		ask, got = append(ask, q), append(got, newTally(sites).logLik(logit(q.P), q.Rho/(1-q.Rho)))
	}
	var want []float64
	askPython(t, "numpy, scipy.stats, scipy.special", `
out = []
for q in ask:
    s = 1 / q["Rho"] - 1
    a, b = q["P"] * s, (1 - q["P"]) * s
    out.append(sum(scipy.stats.betabinom.logpmf(x, n, a, b) - numpy.log(scipy.special.comb(n, x, exact=False)) if n < 900
        else scipy.special.betaln(a + x, b + n - x) - scipy.special.betaln(a, b) for x, n in q["Sites"]))
print(json.dumps(out))
`, ask, &want)
	for k := range want {
		near(t, fmt.Sprintf("%+v", ask[k]), got[k], want[k], 1e-7*(1+math.Abs(want[k])))
	}
}
