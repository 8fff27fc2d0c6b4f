package habitat

import (
	"math"
	"sort"
)

// Visit says how many trees of a patch to check.
type Visit struct {
	Trees  int     // dead or dying trees to check, the likeliest hosts first, for the wanted chance of one find
	Enough bool    // whether the patch is expected to hold that many
	Chance float64 // chance of at least one find when every dead or dying host tree is checked
}

// PlanVisit works out a visit to a patch that holds dead[k] dead or dying
// trees of host k, each with chance rate[k] to carry the target. Trees are
// checked in order of their chance, independently and without misses. When
// the patch does not hold enough, Trees is the number it would take of its
// likeliest host; it is 0 when there is nothing to check.
func PlanVisit(dead, rate []float64, chance float64) Visit {
	order := make([]int, 0, len(dead))
	for k := range dead {
		if dead[k] > 0 && rate[k] > 0 {
			order = append(order, k)
		}
	}
	if len(order) == 0 {
		return Visit{}
	}
	sort.SliceStable(order, func(i, j int) bool { return rate[order[i]] > rate[order[j]] })
	v := Visit{}
	need := math.Log1p(-chance) // of ln(chance of no find)
	none, trees := 0.0, 0.0
	for _, k := range order {
		each := math.Log1p(-min(rate[k], 1-1e-12))
		if !v.Enough && none+dead[k]*each <= need {
			v.Trees, v.Enough = int(math.Ceil(trees+(need-none)/each-1e-9)), true
		}
		none += dead[k] * each
		trees += dead[k]
	}
	v.Chance = -math.Expm1(none)
	if !v.Enough {
		v.Trees, _ = TreesToCheck(rate[order[0]], chance)
	}
	return v
}

// Rates are the mean hit rates of the hosts, in the order of the profile.
func (p *Profile) Rates() []float64 {
	rates := make([]float64, len(p.Hosts))
	for k, h := range p.Hosts {
		rates[k] = h.HitRate.Hits / h.HitRate.Of
	}
	return rates
}
