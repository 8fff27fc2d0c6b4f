// Package trip is the plan of one day on foot: how long to stay at each patch,
// when to give one up, and what is written of the plan. It knows no layers.
package trip

import "math"

// Belief is what is thought of the chance that one more tree of a place
// carries the target: a Beta distribution, as if A trees had carried it and B
// had not.
type Belief struct{ A, B float64 }

// Mean of the chance.
func (b Belief) Mean() float64 { return b.A / (b.A + b.B) }

// BetweenPlaces is how alike two trees of one place are, beyond what is known
// of all (the overdispersion ρ of a beta-binomial law): places with and without
// the mushroom differ. It is the mean of the prior that learning begins with;
// common practice, no source.
const BetweenPlaces = 0.1

// BeliefOf has a mean, the weight in trees of what is known of the rate
// everywhere, and the difference between places ρ. Variances add: m(1−m)/(w+1)
// of the mean, m(1−m)·ρ between places (law of total variance, the square of
// small things left out).
func BeliefOf(mean, weight, rho float64) Belief {
	mean = min(max(mean, 1e-6), 1-1e-6)
	share := 1/(weight+1) + rho
	w := max(1/share-1, 0.05)
	return Belief{w * mean, w * (1 - mean)}
}

// EmptyTrees is after how many trees without a single find a place is given
// up: the least k from which on no way of going on is worth more than leaving
// at once. trees is how many there are to check; a tree costs what its minutes
// would find elsewhere. ok is false when it is never given up before the last.
//
// It is the one-armed bandit with a known other arm and an end (Bradt, Johnson,
// Karlin 1956): worth(x, k) = max(0, m(x, k) − cost + m·worth(x+1, k) +
// (1 − m)·worth(x, k+1)), m the mean after x finds and k empty trees, worked out
// backwards. A find makes the place look better, so that one stays longer than
// the mean alone would say. Giving up as the gain of a minute falls below that
// of the rest of the day is the marginal value theorem (Charnov 1976).
func (b Belief) EmptyTrees(trees int, cost float64) (k int, ok bool) {
	if trees < 1 {
		return 0, false
	}
	w := b.worth(trees, cost)
	for k := range trees {
		if w[k] <= 0 {
			return k, true
		}
	}
	return 0, false
}

// worth is what going on is worth beyond leaving, after k empty trees and no
// find, for each k; 0 where leaving is best.
func (b Belief) worth(trees int, cost float64) []float64 {
	// Row by trees checked, t = trees … 0; column x finds of them.
	next := make([]float64, trees+2)
	none := make([]float64, trees+1)
	for t := trees - 1; t >= 0; t-- {
		row := make([]float64, trees+2)
		for x := 0; x <= t; x++ {
			m := (b.A + float64(x)) / (b.A + b.B + float64(t))
			row[x] = max(0, m-cost+m*next[x+1]+(1-m)*next[x])
		}
		none[t] = row[0]
		next = row
	}
	return none
}

// mostTrees is the most trees a rule looks ahead; so many are not checked in a
// day.
const mostTrees = 400

// GiveUp is EmptyTrees for a stay of so many trees, each of some minutes, in a
// day that finds elsewhere what rate says a minute.
func (b Belief) GiveUp(trees int, minutes, rate float64) (k int, ok bool) {
	if !(rate > 0) || math.IsNaN(minutes) {
		return 0, false
	}
	return b.EmptyTrees(min(trees, mostTrees), rate*minutes)
}
