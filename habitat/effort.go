package habitat

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// MaxTrees is the most trees a plan can call for; beyond it a place is not
// worth planning.
const MaxTrees = 1_000_000

// ChanceOfFind is the chance of at least one find in k trees that each carry
// the target with chance p, independently: 1 − (1−p)^k. With a chance d of
// noticing it on a tree that does, give p·d.
func ChanceOfFind(p float64, k int) float64 {
	if k <= 0 || !(p > 0) {
		return 0
	}
	return -math.Expm1(float64(k) * math.Log1p(-min(p, 1)))
}

// TreesToCheck is the smallest number of trees that gives at least the
// wanted chance of one find: n = ⌈ln(1−C)/ln(1−p)⌉, the detection formula of
// survey sampling, for independent trees and perfect detection. ok is false
// when no number up to MaxTrees does.
func TreesToCheck(p, chance float64) (n int, ok bool) {
	return searchTrees(chance, func(k int) float64 { return ChanceOfFind(p, k) })
}

// UpperAfterNone is the one-sided upper bound of a hit rate after n trees
// without a find: 1 − (1−C)^(1/n), exact (Clopper and Pearson 1934); the
// rule of three, 3/n, is its shorthand at C = 0.95. With no trees it is 1.
func UpperAfterNone(n int, confidence float64) float64 {
	if n <= 0 {
		return 1
	}
	return -math.Expm1(math.Log1p(-confidence) / float64(n))
}

// Beta is a Beta(A, B) distribution of a rate, A and B above zero.
type Beta struct{ A, B float64 }

// Update adds x finds in n trees (conjugate Beta-binomial updating).
func (d Beta) Update(x, n float64) Beta { return Beta{d.A + x, d.B + n - x} }

// Mean of the rate.
func (d Beta) Mean() float64 { return d.A / (d.A + d.B) }

// SD is the standard deviation of the rate.
func (d Beta) SD() float64 {
	n := d.A + d.B
	return math.Sqrt(d.A * d.B / (n * n * (n + 1)))
}

// Quantile is the rate that lies above a share p of the distribution.
func (d Beta) Quantile(p float64) float64 { return mathext.InvRegIncBeta(d.A, d.B, p) }

// ChanceOfFind is the chance of at least one find in k trees when the rate
// itself is uncertain: 1 − B(a, b+k)/B(a, b) (Beta-binomial).
func (d Beta) ChanceOfFind(k int) float64 {
	if k <= 0 {
		return 0
	}
	return -math.Expm1(mathext.Lbeta(d.A, d.B+float64(k)) - mathext.Lbeta(d.A, d.B))
}

// TreesToCheck is TreesToCheck for an uncertain rate. It calls for more
// trees than the mean rate would: the rate may well be lower.
func (d Beta) TreesToCheck(chance float64) (n int, ok bool) {
	return searchTrees(chance, d.ChanceOfFind)
}

// searchTrees finds the smallest k whose chance reaches the wanted one. The
// slack of 1e-12 keeps a chance that is met exactly from being missed by
// rounding.
func searchTrees(want float64, chance func(k int) float64) (int, bool) {
	if !(want > 0) {
		return 0, !math.IsNaN(want)
	}
	want -= 1e-12
	lo, hi := 0, 1
	for !(chance(hi) >= want) {
		if hi >= MaxTrees {
			return 0, false
		}
		lo, hi = hi, min(2*hi, MaxTrees)
	}
	for hi-lo > 1 {
		mid := lo + (hi-lo)/2
		if chance(mid) >= want {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, true
}
