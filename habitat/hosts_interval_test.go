package habitat

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// Quantiles of the Poisson and the negative binomial law, worked out with
// scipy.stats (poisson.ppf and nbinom.ppf with n = 1/cv², p = n/(n + mean)).
func TestTreeInterval(t *testing.T) {
	for _, c := range []struct {
		name                   string
		expected, cv, coverage float64
		low, high              int
	}{
		{"no trees", 0, 0.6, 0.9, 0, 0},
		{"fewer than none", -3, 0.6, 0.9, 0, 0},
		{"not known", math.NaN(), 0.6, 0.9, 0, 0},
		{"doubt not known", 10, math.NaN(), 0.9, 5, 15},
		{"ten, counting only", 10, 0, 0.9, 5, 15},
		{"ten, 95 %", 10, 0, 0.95, 4, 17},
		{"a fraction of a tree", 0.05, 0, 0.9, 0, 0},
		{"a little more", 0.06, 0, 0.9, 0, 1},
		{"forty-five, counting only", 45, 0, 0.9, 34, 56},
		{"forty-five, patchy", 45, 0.6, 0.9, 10, 98},
		{"forty-five, the middle half", 45, 0.6, 0.5, 25, 60},
		{"one or so", 1.2, 0.6, 0.9, 0, 4},
		{"an exponential density", 120, 1, 0.9, 6, 360},
		{"hardly anything known", 3, 3, 0.9, 0, 18},
		{"a million, patchy", 1e6, 0.6, 0.9, 254124, 2145952},
		{"a million, counting only", 1e6, 0, 0.9, 998355, 1001645},
		{"far out", 5000, 0.1, 0.99, 3794, 6395},
		{"next to no doubt", 10, 1e-3, 0.9, 5, 15},
		{"no doubt worth a name", 10, 1e-9, 0.9, 5, 15},
	} {
		t.Run(c.name, func(t *testing.T) {
			if low, high := TreeInterval(c.expected, c.cv, c.coverage); low != c.low || high != c.high {
				t.Errorf("got %d to %d, want %d to %d", low, high, c.low, c.high)
			}
		})
	}
}

// Means from a hundredth of a tree to a million, all doubts a profile may
// hold, against the quantiles of scipy.stats.
func TestTreeIntervalAgainstSciPy(t *testing.T) {
	const script = `
import json, sys
import numpy as np
from scipy.stats import nbinom, poisson
mean, cv, coverage = np.array(json.load(sys.stdin)).T
tail, size = (1 - coverage) / 2, np.where(cv > 0, cv, 1) ** -2
ends = [np.where(cv > 0, getattr(nbinom, f)(tail, size, size / (size + mean)), getattr(poisson, f)(tail, mean)) for f in ("ppf", "isf")]
print(json.dumps(np.array(ends).T.astype(int).tolist()))
`
	random := rand.New(rand.NewPCG(7, 11))
	var asked [][3]float64
	for range 1500 {
		cv := 0.0
		if random.IntN(4) > 0 {
			cv = math.Exp(math.Log(0.01) + random.Float64()*math.Log(300))
		}
		asked = append(asked, [3]float64{math.Pow(10, random.Float64()*8-2), cv, 0.3 + 0.69*random.Float64()})
	}
	var want [][2]int
	askSciPy(t, script, asked, &want)
	if len(want) != len(asked) {
		t.Fatalf("%d answers to %d questions", len(want), len(asked))
	}
	for i, q := range asked {
		if low, high := TreeInterval(q[0], q[1], q[2]); low != want[i][0] || high != want[i][1] {
			t.Errorf("mean %g, cv %g, coverage %g: got %d to %d, want %d to %d", q[0], q[1], q[2], low, high, want[i][0], want[i][1])
		}
	}
}

// Adding the probabilities up one by one, by the recurrence of the law
// itself: P(k+1) = P(k) · (size + k)/(k + 1) · mean/(size + mean).
func TestTreeIntervalAgainstAddingUp(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		mean := rapid.Float64Range(0.01, 80).Draw(r, "mean")
		cv := rapid.Float64Range(0.05, 3).Draw(r, "cv")
		coverage := rapid.Float64Range(0.05, 0.98).Draw(r, "coverage")
		size := 1 / (cv * cv)
		p := math.Pow(size/(size+mean), size)
		sum, k := p, 0
		until := func(share float64) int {
			for sum < share {
				p *= (size + float64(k)) / float64(k+1) * mean / (size + mean)
				sum += p
				k++
			}
			return k
		}
		const slack = 1e-9 // a share met within rounding
		tail := (1 - coverage) / 2
		lowFrom, lowTo := until(tail-slack), until(tail+slack)
		highFrom, highTo := until(1-tail-slack), until(1-tail+slack)
		if low, high := TreeInterval(mean, cv, coverage); low < lowFrom || low > lowTo || high < highFrom || high > highTo {
			r.Fatalf("got %d to %d, want %d to %d", low, high, lowFrom, highFrom)
		}
	})
}

// More coverage never narrows the interval; more trees never lower an end.
func TestTreeIntervalGrows(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		mean := rapid.Float64Range(0.01, 1e6).Draw(r, "mean")
		cv := rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(0.01, 3)).Draw(r, "cv")
		coverage := rapid.Float64Range(0.1, 0.95).Draw(r, "coverage")
		low, high := TreeInterval(mean, cv, coverage)
		wideLow, wideHigh := TreeInterval(mean, cv, coverage+0.04)
		if low > high || wideLow > low || wideHigh < high {
			r.Fatalf("%d to %d at %g, %d to %d at more", low, high, coverage, wideLow, wideHigh)
		}
		if moreLow, moreHigh := TreeInterval(1.5*mean, cv, coverage); moreLow < low || moreHigh < high {
			r.Fatalf("%d to %d, with half as many trees again %d to %d", low, high, moreLow, moreHigh)
		}
	})
}

func TestTreeIntervalHoldsItsBounds(t *testing.T) {
	for _, c := range [][3]float64{{1e300, 3, 0.9}, {math.Inf(1), 0, 0.9}, {10, math.Inf(1), 0.9}, {10, 0.6, 1}, {10, 0.6, 7}, {10, 0.6, -1}, {10, -4, 0.5}, {1e9, 3, 1}} {
		low, high := TreeInterval(c[0], c[1], c[2])
		if low < 0 || high < low || high > 1e12 {
			t.Errorf("%v: %d to %d", c, low, high)
		}
	}
}

func BenchmarkTreeInterval(b *testing.B) {
	for _, mean := range []float64{10, 1e4} {
		b.Run(fmt.Sprint(mean), func(b *testing.B) {
			for b.Loop() {
				TreeInterval(mean, 0.6, 0.9)
			}
		})
	}
}
