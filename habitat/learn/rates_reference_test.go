package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Slow reference: p and ρ over an even grid in p and in ρ, likelihood by gamma
// functions.
func slowRate(prior, rho Beta, sites []Count, level float64) (Interval, float64) {
	const np, nr = 3000, 120
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

// The tallies against the beta-binomial by SciPy's beta function, long sites
// included.
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
	askPython(t, "scipy.special", `
ln = scipy.special.betaln
out = []
for q in ask:
    s = 1 / q["Rho"] - 1
    a, b = q["P"] * s, (1 - q["P"]) * s
    out.append(float(sum(ln(a + x, b + n - x) - ln(a, b) for x, n in q["Sites"])))
print(json.dumps(out))
`, ask, &want)
	for k := range want {
		near(t, fmt.Sprintf("%+v", ask[k]), got[k], want[k], 1e-7*(1+math.Abs(want[k])))
	}
}
