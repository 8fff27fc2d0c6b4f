package learn

import (
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Beta is a distribution of a rate: as if A hits and B misses had been seen.
type Beta struct {
	A, B float64
}

// Mean is the rate expected.
func (b Beta) Mean() float64 { return b.A / (b.A + b.B) }

// Weight is how many trees the belief is worth, A + B.
func (b Beta) Weight() float64 { return b.A + b.B }

// Interval holds the rate with the chance level (0.9), equal tails.
func (b Beta) Interval(level float64) (low, high float64) {
	d := distuv.Beta{Alpha: b.A, Beta: b.B}
	return d.Quantile((1 - level) / 2), d.Quantile((1 + level) / 2)
}

// BetaOf is the Beta of a mean and a variance. A variance too large for any
// Beta gives one of weight 0.02.
func BetaOf(mean, variance float64) Beta {
	const least = 0.01
	mean = min(max(mean, 1e-12), 1-1e-12)
	weight := max(mean*(1-mean)/variance-1, 2*least)
	return Beta{A: weight * mean, B: weight * (1 - mean)}
}

func (b Beta) check(what string) error {
	for _, v := range []float64{b.A, b.B} {
		if !(v >= 1e-6 && v <= 1e9) {
			return fmt.Errorf("%s: the prior Beta(%g, %g) needs both above 1e-6 and below 1e9", what, b.A, b.B)
		}
	}
	return nil
}

// logOdds is the logarithm of the density of t = logit p under the Beta.
func (b Beta) logOdds(t float64) float64 {
	return -b.A*softplus(-t) - b.B*softplus(t) - mathext.Lbeta(b.A, b.B)
}

// below and above are the chances of a logit under or over t.
func (b Beta) below(t float64) float64 { return mathext.RegIncBeta(b.A, b.B, logistic(t)) }
func (b Beta) above(t float64) float64 { return mathext.RegIncBeta(b.B, b.A, logistic(-t)) }

// Count is what one site gave: X of N trees with finds.
type Count struct {
	X, N int
}

func (c Count) check(what string) error {
	if c.N < 0 || c.X < 0 || c.X > c.N {
		return fmt.Errorf("%s: %d of %d trees with finds; expected 0 up to the trees", what, c.X, c.N)
	}
	return nil
}

// quantile finds where a cumulative curve reaches q, in steps from the first
// node: a cubic through its values and its slopes, the density.
func quantile(cumulated, density []float64, step, q float64) float64 {
	n := len(cumulated)
	if q <= cumulated[0] {
		return 0
	}
	i := sort.SearchFloat64s(cumulated, q)
	if i >= n {
		return float64(n - 1)
	}
	rise, from, to := cumulated[i]-cumulated[i-1], density[i-1]*step, density[i]*step
	low, high := 0.0, 1.0
	for range 40 {
		u := (low + high) / 2
		at := u * (from + u*(3*rise-2*from-to+u*(from+to-2*rise)))
		if cumulated[i-1]+at < q {
			low = u
		} else {
			high = u
		}
	}
	return float64(i-1) + low
}

// cumulate adds up a density on nodes step apart, trapezoids mended by the
// slopes at their ends (Euler and Maclaurin).
func cumulate(density []float64, step, start float64) []float64 {
	n := len(density)
	slope := func(i int) float64 {
		lo, hi := max(i-1, 0), min(i+1, n-1)
		return (density[hi] - density[lo]) / (float64(hi-lo) * step)
	}
	c := make([]float64, n)
	c[0] = start
	for i := 1; i < n; i++ {
		piece := step/2*(density[i-1]+density[i]) - step*step/12*(slope(i)-slope(i-1))
		c[i] = c[i-1] + max(0, piece)
	}
	return c
}

// logSum is ln Σ e^v, without overflow.
func logSum(v []float64) float64 {
	most := math.Inf(-1)
	for _, x := range v {
		most = max(most, x)
	}
	if math.IsInf(most, -1) {
		return most
	}
	var sum float64
	for _, x := range v {
		sum += math.Exp(x - most)
	}
	return most + math.Log(sum)
}
