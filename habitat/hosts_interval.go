package habitat

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// The largest mean and doubt TreeInterval works with.
const (
	mostExpected = 1e9
	mostCV       = 10
)

// TreeInterval is the central interval that holds the number of trees in a
// patch with the wanted probability, when expected trees are the mean and
// the patch's true density varies about the expected one as a gamma variable
// with coefficient of variation cv. The count is then negative binomial with
// size 1/cv² (Greenwood and Yule 1920); with cv 0 it is Poisson. The ends are
// exact quantiles: the fewest trees with at least (1 − coverage)/2 and (1 +
// coverage)/2 of the probability at or below them, so that the interval
// holds at least coverage. coverage lies between 0 and 1 and is held to 1 −
// 1e-9; means are held to 1e9, cv to 10. A mean that is nought or not known gives 0, 0,
// and a cv that is not known, or not above zero, counts as 0.
func TreeInterval(expected, cv, coverage float64) (low, high int) {
	if !(expected > 0) || math.IsNaN(coverage) {
		return 0, 0
	}
	expected, coverage = min(expected, mostExpected), min(max(coverage, 0), 1-1e-9)
	if !(cv > 0) {
		cv = 0
	}
	cv = min(cv, mostCV)
	// Where the doubt in density adds less than 1e-9 to the variance, the
	// Poisson law says the same and is safer to compute.
	split := poissonCDF(expected)
	spread := math.Sqrt(expected)
	if v := cv * cv * expected; v > 1e-9 {
		split = negativeBinomialCDF(expected, 1/(cv*cv))
		spread = math.Sqrt(expected * (1 + v))
	}
	tail := (1 - coverage) / 2
	low = leastWith(split, tail, false, expected, spread)
	high = leastWith(split, tail, true, expected, spread)
	return low, high
}

// tails gives the probability of at most k, and of more than k. Both are
// computed outright, so that neither loses its figures near nought.
type tails func(k float64) (below, above float64)

func poissonCDF(mean float64) tails {
	return func(k float64) (below, above float64) {
		return mathext.GammaIncRegComp(k+1, mean), mathext.GammaIncReg(k+1, mean)
	}
}

func negativeBinomialCDF(mean, size float64) tails {
	p, q := size/(size+mean), mean/(size+mean)
	return func(k float64) (below, above float64) {
		return mathext.RegIncBeta(size, k+1, p), mathext.RegIncBeta(k+1, size, q)
	}
}

// leastWith is the smallest k with at least tail of the probability at or
// below it, or, for the upper end, at most tail of it above.
func leastWith(split tails, tail float64, upper bool, mean, spread float64) int {
	reached := func(k int) bool {
		below, above := split(float64(k))
		if upper {
			return above <= tail
		}
		return below >= tail
	}
	if reached(0) {
		return 0
	}
	lo, hi := 0, int(mean+4*spread)+1
	for !reached(hi) && hi < math.MaxInt32*64 {
		lo, hi = hi, 2*hi
	}
	for hi-lo > 1 {
		if mid := lo + (hi-lo)/2; reached(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}
