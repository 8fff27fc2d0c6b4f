package learn

import (
	"math"
	"slices"
)

// longSite is where the terms of a site's likelihood are no longer added one
// by one but as a ratio of gamma functions.
const longSite = 128

// tally is all that the beta-binomial likelihood of many sites needs. With
// θ = ρ/(1−ρ) a site of x among n trees has the likelihood
//
//	Π_{i<x} (p + iθ) · Π_{i<n−x} (1 − p + iθ) / Π_{i<n} (1 + iθ),
//
// binomial coefficients left out (Griffiths 1973, Biometrics 29:637–648, from
// memory), so that over all sites it is enough to know how many have more than
// i finds, more than i misses, more than i trees.
type tally struct {
	hits, misses, trees run
	x, n, sites         int
}

type run struct {
	over  []float64 // sites with more than i, i < longSite
	total float64
	long  []int // what sites above longSite have, rising
}

func newTally(sites []Count) *tally {
	t := &tally{}
	for _, s := range sites {
		if s.N == 0 {
			continue
		}
		t.hits.add(s.X)
		t.misses.add(s.N - s.X)
		t.trees.add(s.N)
		t.x, t.n, t.sites = t.x+s.X, t.n+s.N, t.sites+1
	}
	for _, r := range []*run{&t.hits, &t.misses, &t.trees} {
		// Ended counts become counts of those above.
		for i := len(r.over) - 2; i >= 0; i-- {
			r.over[i] += r.over[i+1]
		}
		slices.Sort(r.long)
	}
	return t
}

func (r *run) add(v int) {
	r.total += float64(v)
	if v == 0 {
		return
	}
	last := min(v, longSite)
	for len(r.over) < last {
		r.over = append(r.over, 0)
	}
	r.over[last-1]++
	if v > longSite {
		r.long = append(r.long, v)
	}
}

// log is Σ over sites of Σ_{i<v} ln(base + iθ).
func (r *run) log(base, theta float64) float64 {
	if theta == 0 {
		if r.total == 0 {
			return 0
		}
		return r.total * math.Log(base)
	}
	var sum float64
	for i, sites := range r.over {
		sum += sites * math.Log(base+float64(i)*theta)
	}
	if len(r.long) > 0 {
		start, _ := math.Lgamma(base/theta + longSite)
		last, value := -1, 0.0
		for _, v := range r.long {
			if v != last {
				end, _ := math.Lgamma(base/theta + float64(v))
				last, value = v, end-start+float64(v-longSite)*math.Log(theta)
			}
			sum += value
		}
	}
	return sum
}

// logLik is the log-likelihood at a rate given as its logit.
func (t *tally) logLik(logit, theta float64) float64 {
	return t.ofRate(logit, theta) - t.trees.log(1, theta)
}

// ofRate is the part of logLik that the rate changes.
func (t *tally) ofRate(logit, theta float64) float64 {
	return t.hits.log(logistic(logit), theta) + t.misses.log(logistic(-logit), theta)
}
