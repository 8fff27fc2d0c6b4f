package habitat

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

func TestDrawsFollowTheirPosterior(t *testing.T) {
	p := builtin(t)
	p.Posterior = &Posterior{Weights: []string{"weight_r", "intercept"}, Covariance: [][]float64{{0.04, -0.03}, {-0.03, 0.09}}, Records: 3}
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	draws, err := drawBeliefs(p, false, 40_000)
	if err != nil {
		t.Fatal(err)
	}
	column := func(i int) []float64 {
		out := make([]float64, len(draws))
		for d := range draws {
			out[d] = draws[d].change[i]
		}
		return out
	}
	intercept, r := column(0), column(1)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"variance of the intercept", stat.Variance(intercept, nil), 0.09},
		{"variance of weight_r", stat.Variance(r, nil), 0.04},
		{"covariance", stat.Covariance(intercept, r, nil), -0.03},
		{"mean", stat.Mean(r, nil), 0},
	} {
		if math.Abs(c.got-c.want) > 0.003 {
			t.Errorf("%s: %.4f, want %.4f", c.name, c.got, c.want)
		}
	}
	for d := range draws {
		for i, w := range p.Bottomland.weights(false) {
			if i > 0 && w.Value+draws[d].change[i] > 1e-12 {
				t.Fatalf("a draw makes %s positive", WeightNames()[i])
			}
		}
	}
	rates := make([]float64, len(draws))
	for d := range draws {
		rates[d] = draws[d].rate[0]
	}
	b := p.Hosts[0].HitRate.Beta()
	if m := stat.Mean(rates, nil); math.Abs(m-b.Mean()) > 0.002 {
		t.Errorf("mean hit rate %.4f, want %.4f", m, b.Mean())
	}
	if s := stat.StdDev(rates, nil); math.Abs(s-b.SD()) > 0.002 {
		t.Errorf("deviation of the hit rate %.4f, want %.4f", s, b.SD())
	}
}

// The delta method of the uncertainty layer against the spread of draws.
func TestDoubtAgainstDraws(t *testing.T) {
	p := builtin(t)
	p.Posterior = &Posterior{Weights: WeightNames(), Records: 1, Covariance: [][]float64{
		{0.05, 0.01, 0, 0, 0}, {0.01, 0.02, 0, 0, 0}, {0, 0, 0.002, 0, 0}, {0, 0, 0, 0.01, 0}, {0, 0, 0, 0, 0.02}}}
	for i := range p.Hosts {
		p.Hosts[i].HitRate.Weight = 200 // a small doubt, for which the delta method is meant
	}
	tables, err := NewHostTables(p, nil, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	draws, err := drawBeliefs(p, false, 4000)
	if err != nil {
		t.Fatal(err)
	}
	pub := &publication{in: &Inputs{Profile: p}}
	cov := p.weightCovariance(false)
	rng := rand.New(rand.NewPCG(7, 7))
	for range 40 {
		x := termRows{mean: []uint16{uint16(64 + rng.IntN(1500))}, brook: []uint16{uint16(64 + rng.IntN(1500))}, far: []uint16{uint16(rng.IntN(2000))},
			slope: []float32{0.1 * rng.Float32()}, z: [3][]float32{nil, make([]float32, 3), nil}}
		terms, ok := x.at(0)
		if !ok {
			t.Fatal("terms not known")
		}
		w := p.Bottomland.weights(false)
		logit := 0.0
		for i, v := range terms {
			logit += w[i].Value * v
		}
		worth := newAppraisal(p, tables, nil).reader()
		b := stored(Logistic(logit), bottomUnit)
		if b < 1000 || b > 15500 {
			continue
		}
		got := pub.doubt(worth, &x, cov, 0, b, NoClass)
		s := stand{terms: terms, known: true, logit: logit, table: tables.any(), slot: NoClass}
		var suit []float64
		for d := range draws {
			v, _ := s.worthIn(&draws[d])
			suit = append(suit, v)
		}
		if want := stat.StdDev(suit, nil); math.Abs(got-want) > 0.25*want+0.004 {
			t.Errorf("at bottomland %.3f: doubt %.4f, the draws spread by %.4f", Logistic(logit), got, want)
		}
	}
}

func TestLookingLessensDoubt(t *testing.T) {
	c := mat.NewSymDense(numTerms, nil)
	for i := range numTerms {
		c.SetSym(i, i, 0.3)
	}
	c.SetSym(0, 1, 0.1)
	look, other := termVector{1, -0.5, 0.2, 1, 0.1}, termVector{1, 1.5, -0.2, 0.4, 0.8}
	// (C⁻¹ + v t tᵀ)⁻¹, written out.
	const v = 1.3
	var inv, want mat.Dense
	if err := inv.Inverse(c); err != nil {
		t.Fatal(err)
	}
	for i := range numTerms {
		for k := range numTerms {
			inv.Set(i, k, inv.At(i, k)+v*look[i]*look[k])
		}
	}
	if err := want.Inverse(&inv); err != nil {
		t.Fatal(err)
	}
	before := quadratic(c, other)
	lessen(c, look, v)
	for i := range numTerms {
		for k := range numTerms {
			if math.Abs(c.At(i, k)-want.At(i, k)) > 1e-12 {
				t.Fatalf("covariance [%d,%d] %.9f, want %.9f", i, k, c.At(i, k), want.At(i, k))
			}
		}
	}
	if quadratic(c, other) >= before {
		t.Error("looking somewhere did not lessen the doubt elsewhere")
	}
}

// On a map: shares of the draws add up, intervals hold the estimate, learning
// visits are marked and come last, and layers say what the terms were.
func TestDrawsOnAMap(t *testing.T) {
	s := inventedSurvey(t)
	s.Shortlist.MinHa, s.Shortlist.Top, s.Shortlist.Explore = 0.5, 12, 4
	s.Output.Layers, s.Output.Preview = []string{"uncertainty", "bottomland", "relative-height", "brook-height", "slope", "stream-distance"}, false
	r := mapped(t, s)
	sum, learning := 0.0, 0
	for i, c := range r.Shortlist.Candidates {
		if !c.Learning {
			sum += c.RankShare
			if !(c.FindsLow <= c.Finds && c.Finds <= c.FindsHigh) {
				t.Errorf("patch %d: %.2f finds outside %.2f to %.2f", c.Rank, c.Finds, c.FindsLow, c.FindsHigh)
			}
			if learning > 0 {
				t.Errorf("patch %d stands behind a learning visit", i+1)
			}
		} else {
			learning++
			if c.Gain <= 0 {
				t.Errorf("patch %d teaches nothing", c.Rank)
			}
		}
	}
	if learning != 4 || len(r.Shortlist.Candidates) != 12 {
		t.Errorf("%d learning visits of %d patches, want 4 of 12", learning, len(r.Shortlist.Candidates))
	}
	if !(sum > 5 && sum <= drawTop+1e-9) {
		t.Errorf("the listed patches hold %.2f of the ten best places, on average", sum)
	}
	// The layers give the bottomland back.
	read := func(name string) []float32 {
		_, v := written(t, filepath.Join(r.Folder, "layers", name+".tif"))
		return v
	}
	mean, brook, slope, far, bottom, doubt := read("relative-height"), read("brook-height"), read("slope"), read("stream-distance"), read("bottomland"), read("uncertainty")
	b := &r.Profile.Bottomland
	checked := 0
	for i := range bottom {
		if bottom[i] != bottom[i] || bottom[i] < 0.02 || bottom[i] > 0.98 || mean[i] < 0.2 || brook[i] < 0.2 {
			continue
		}
		want := Logistic(b.Logit(math.Log(float64(mean[i])), math.Log(float64(brook[i])), float64(slope[i]), float64(far[i])))
		if math.Abs(float64(bottom[i])-want) > 0.01 {
			t.Fatalf("cell %d: bottomland %.4f, from the layers %.4f", i, bottom[i], want)
		}
		if !(doubt[i] >= 0 && doubt[i] < 1) {
			t.Fatalf("cell %d: uncertainty %v", i, doubt[i])
		}
		checked++
	}
	if checked < 1000 {
		t.Fatalf("only %d cells to look at", checked)
	}
}

func TestPosteriorMistakes(t *testing.T) {
	for _, c := range []struct {
		p    Posterior
		want string
	}{
		{Posterior{Weights: []string{"slope"}, Covariance: [][]float64{{1}}}, "posterior.weights"},
		{Posterior{Weights: []string{"intercept", "intercept"}, Covariance: [][]float64{{1, 0}, {0, 1}}}, "listed twice"},
		{Posterior{Weights: []string{"intercept"}, Covariance: [][]float64{{-1}}}, "not positive definite"},
		{Posterior{Weights: []string{"intercept", "weight_r"}, Covariance: [][]float64{{1, 0.5}, {0.4, 1}}}, "not the same"},
		{Posterior{Weights: []string{"intercept", "weight_r"}, Covariance: [][]float64{{1, 0}}}, "2 rows"},
	} {
		p := builtin(t)
		p.Posterior = &c.p
		if err := p.Validate(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: got %v, want %q in it", c.p, err, c.want)
		}
	}
	p := builtin(t)
	p.Posterior = &Posterior{Weights: []string{"intercept"}, Covariance: [][]float64{{0.2}}, Records: 12, Source: "two notebooks"}
	data, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := ParseProfile("p.yaml", data)
	if err != nil || again.Posterior == nil || !slices.Equal(again.Posterior.Weights, p.Posterior.Weights) || again.Posterior.Covariance[0][0] != 0.2 {
		t.Errorf("read back as %+v, %v", again, err)
	}
}

// Hit rates that change with bottomland, written out for one step.
func TestRateByBottomland(t *testing.T) {
	p := builtin(t)
	plain, err := NewHostTable(p, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, g := range []float64{0.5, -0.4} {
		p.RateByBottomland = Weight{Value: g, SD: 0.3}
		table, err := NewHostTable(p, nil)
		if err != nil {
			t.Fatal(err)
		}
		last := float32(0)
		for q := 1; q < BottomSteps; q++ {
			key := Key(uint8(q), NoClass)
			b := float64(q) / BottomSteps
			x := min(max(math.Log(b/(1-b)), -3), 3)
			want := 0.0
			for _, h := range p.Hosts {
				rate := h.HitRate.Hits / h.HitRate.Of
				at := Logistic(math.Log(rate/(1-rate)) + g*(x-2))
				want += h.DensityHa * h.DeadShare * h.Bottomland.At(b) * p.CoverOf(h, Unknown) * at
			}
			if got := float64(table.E[key]); math.Abs(got-want) > 1e-4*want+1e-9 {
				t.Fatalf("g %g, bottomland %.3f: %.6f finds, want %.6f", g, b, got, want)
			}
			if table.S[key] < last {
				t.Fatalf("g %g: suitability falls at bottomland %.3f", g, b)
			}
			last = table.S[key]
		}
		q := uint8(220) // log-odds 1.99
		if ratio := table.E[Key(q, NoClass)] / plain.E[Key(q, NoClass)]; math.Abs(float64(ratio)-1) > 0.01 {
			t.Errorf("g %g: where the rates hold, finds change by %.3f", g, ratio)
		}
	}
}
