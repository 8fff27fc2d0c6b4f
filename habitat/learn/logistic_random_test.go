package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// scattered makes a regression: rows, trials, successes, offsets and a prior.
type scattered struct {
	x            [][]float64
	n, y, offset []float64
	prior        Prior
}

func scatter(rng *rand.Rand, rows, columns int, sign bool) scattered {
	s := scattered{prior: Prior{Mean: make([]float64, columns), SD: make([]float64, columns)}}
	truth := make([]float64, columns)
	for j := range columns {
		truth[j] = rng.NormFloat64()
		s.prior.Mean[j], s.prior.SD[j] = rng.NormFloat64(), 0.3+2*rng.Float64()
		if sign {
			s.prior.Sign = append(s.prior.Sign, int8(rng.IntN(3)-1))
		}
	}
	for range rows {
		row := []float64{1}
		eta := truth[0]
		for j := 1; j < columns; j++ {
			row = append(row, rng.NormFloat64()*math.Exp(float64(j)-2)) // columns of unlike sizes
			eta += truth[j] * row[j]
		}
		n := float64(rng.IntN(5)) * (0.5 + rng.Float64())
		s.x, s.n, s.offset = append(s.x, row), append(s.n, n), append(s.offset, rng.NormFloat64())
		s.y = append(s.y, n*math.Round(4*logistic(eta+rng.NormFloat64()))/4)
	}
	return s
}

// logPosterior is written out plainly, as the slow reference.
func (s *scattered) logPosterior(beta []float64) float64 {
	var sum float64
	for i, row := range s.x {
		eta := s.offset[i]
		for j := range row {
			eta += row[j] * beta[j]
		}
		sum += -s.y[i]*math.Log1p(math.Exp(-eta)) - (s.n[i]-s.y[i])*math.Log1p(math.Exp(eta))
	}
	for j, b := range beta {
		z := (b - s.prior.Mean[j]) / s.prior.SD[j]
		sum -= z*z/2 + math.Log(s.prior.SD[j]*math.Sqrt(2*math.Pi))
	}
	return sum
}

func TestLogisticAgainstGonumAndDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 1))
	for k := range 60 {
		s := scatter(rng, 3+rng.IntN(60), 1+rng.IntN(5), false)
		f, err := Logistic(s.x, s.n, s.y, s.offset, s.prior)
		if err != nil {
			t.Fatal(k, err)
		}
		near(t, "log-posterior", f.LogPost, s.logPosterior(f.Beta), 1e-9*(1+math.Abs(f.LogPost)))
		lost := func(b []float64) float64 { return -s.logPosterior(b) }
		r, err := optimize.Minimize(optimize.Problem{Func: lost, Grad: func(g, b []float64) { fd.Gradient(g, lost, b, &fd.Settings{Formula: fd.Central}) }},
			make([]float64, len(f.Beta)), &optimize.Settings{GradientThreshold: 1e-5}, &optimize.BFGS{})
		if r == nil {
			t.Fatal(k, err)
		}
		if r.F < -f.LogPost-1e-9 {
			t.Errorf("%d: BFGS finds %.12g, better than %.12g", k, -r.F, f.LogPost)
		}
		for j := range f.Beta {
			near(t, "coefficient", f.Beta[j], r.X[j], 1e-3*f.SE(j))
		}
		// The covariance is the inverse of the Hessian by central differences,
		// steps in standard errors since the columns have unlike units.
		const step = 3e-3
		k := len(f.Beta)
		h := mat.NewSymDense(k, nil)
		at := func(a int, da float64, b int, db float64) float64 {
			to := append([]float64(nil), f.Beta...)
			to[a] += da * step * f.SE(a)
			to[b] += db * step * f.SE(b)
			return lost(to)
		}
		for a := range k {
			for b := a; b < k; b++ {
				d := at(a, 1, b, 1) - at(a, 1, b, -1) - at(a, -1, b, 1) + at(a, -1, b, -1)
				h.SetSym(a, b, d/(4*step*step))
			}
		}
		for a := range k {
			for b := range k {
				var got, want float64
				for c := range k {
					got += h.At(a, c) * f.Cov.At(c, b) / (f.SE(c) * f.SE(b))
				}
				if a == b {
					want = 1
				}
				near(t, "Hessian × covariance", got, want, 1e-3)
			}
		}
	}
}

// With signs held: no coefficient on the wrong side, and at the end no way up
// along any coordinate or random direction that the signs allow.
func TestSignsHeld(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	atBound := 0
	for k := range 200 {
		s := scatter(rng, 3+rng.IntN(40), 2+rng.IntN(4), true)
		f, err := Logistic(s.x, s.n, s.y, s.offset, s.prior)
		if err != nil {
			t.Fatal(k, err)
		}
		free := scattered(s)
		free.prior.Sign = nil
		u, err := Logistic(s.x, s.n, s.y, s.offset, free.prior)
		if err != nil {
			t.Fatal(k, err)
		}
		inside := true
		for j, sign := range s.prior.Sign {
			if float64(sign)*f.Beta[j] < 0 {
				t.Fatalf("%d: coefficient %d is %g against sign %d", k, j, f.Beta[j], sign)
			}
			if sign != 0 && f.Beta[j] == 0 {
				atBound++
			}
			inside = inside && float64(sign)*u.Beta[j] >= 0
			low, high := f.Interval(j, 0.9)
			if !(low < high) || float64(sign)*low < 0 || float64(sign)*high < 0 {
				t.Errorf("%d: interval %g to %g of sign %d", k, low, high, sign)
			}
		}
		if inside {
			for j := range u.Beta {
				near(t, "not held", f.Beta[j], u.Beta[j], 1e-6)
				near(t, "centre", f.Centre[j], u.Beta[j], 1e-6)
			}
		}
		for range 40 {
			to := append([]float64(nil), f.Beta...)
			for j := range to {
				to[j] += rng.NormFloat64() * f.SE(j) * 0.05
				if float64(s.prior.Sign[j])*to[j] < 0 {
					to[j] = 0
				}
			}
			if better := s.logPosterior(to); better > f.LogPost+1e-9 {
				t.Fatalf("%d: %v is better than %v by %g", k, to, f.Beta, better-f.LogPost)
			}
		}
	}
	if atBound < 50 {
		t.Errorf("only %d coefficients came to lie at nought: the test tries too little", atBound)
	}
}

// Quantiles of a cut Gaussian by counting along a fine grid.
func TestIntervalOfAHeldCoefficient(t *testing.T) {
	for _, c := range []struct{ mean, sd float64 }{{-2, 1}, {-0.3, 1}, {0, 1}, {0.8, 0.5}, {12, 1}, {3, 0.2}} {
		f := Fit{Beta: []float64{0}, Centre: []float64{c.mean}, Cov: mat.NewSymDense(1, []float64{c.sd * c.sd}), sign: []int8{-1}}
		low, high := f.Interval(0, 0.9)
		var all, below, above float64
		const step = 1e-4
		for b := -step / 2; b > -10; b -= step {
			w := math.Exp((c.mean*c.mean - (b-c.mean)*(b-c.mean)) / (2 * c.sd * c.sd)) // 1 at nought
			all += w
			if b < low {
				below += w
			}
			if b > high {
				above += w
			}
		}
		near(t, "below", below/all, 0.05, 2e-3)
		near(t, "above", above/all, 0.05, 2e-3)
		mirrored := Fit{Beta: f.Beta, Centre: []float64{-c.mean}, Cov: f.Cov, sign: []int8{1}}
		l, h := mirrored.Interval(0, 0.9)
		near(t, "mirrored", l, -high, 1e-12)
		near(t, "mirrored", h, -low, 1e-12)
	}
}

// A prior with a covariance, and records in two lots: the first fit as prior
// of the second comes near the fit of all; a diagonal one is the same as sds.
func TestPriorWithCovariance(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	s := scatter(rng, 2000, 3, false)
	all, err := Logistic(s.x, s.n, s.y, s.offset, s.prior)
	if err != nil {
		t.Fatal(err)
	}
	first, err := Logistic(s.x[:1000], s.n[:1000], s.y[:1000], s.offset[:1000], s.prior)
	if err != nil {
		t.Fatal(err)
	}
	both, err := Logistic(s.x[1000:], s.n[1000:], s.y[1000:], s.offset[1000:], Prior{Mean: first.Beta, Cov: first.Cov})
	if err != nil {
		t.Fatal(err)
	}
	diagonal := mat.NewSymDense(3, nil)
	for j, sd := range s.prior.SD {
		diagonal.SetSym(j, j, sd*sd)
	}
	same, err := Logistic(s.x, s.n, s.y, s.offset, Prior{Mean: s.prior.Mean, Cov: diagonal})
	if err != nil {
		t.Fatal(err)
	}
	for j := range 3 {
		near(t, "in two lots", both.Beta[j], all.Beta[j], 0.2*all.SE(j))
		near(t, "diagonal", same.Beta[j], all.Beta[j], 1e-9)
	}
	near(t, "diagonal", same.LogPost, all.LogPost, 1e-8*math.Abs(all.LogPost))
}
