package score

import "math"

// midRanks are the ranks from 1, equal values sharing their mean rank. A
// weight w counts as w rows; nil weights are all 1.
func midRanks(v, w []float64) []float64 {
	ranks := make([]float64, len(v))
	before := 0.0
	ties(v, order(v), func(group []int) {
		here := 0.0
		for _, i := range group {
			here += weight(w, i)
		}
		for _, i := range group {
			ranks[i] = before + (here+1)/2
		}
		before += here
	})
	return ranks
}

func weight(w []float64, i int) float64 {
	if w == nil {
		return 1
	}
	return w[i]
}

// Spearman is the rank correlation of x and y, −1 to 1: the correlation of
// their mid-ranks (Spearman 1904, American Journal of Psychology 15:72–101,
// from memory). w are numbers of trials, nil for one each; rows with a NaN or
// no weight are left out.
func Spearman(x, y, w []float64) Figure {
	sameLength(len(x), len(y))
	var a, b, c []float64
	for i := range x {
		if !math.IsNaN(x[i]) && !math.IsNaN(y[i]) && weight(w, i) > 0 {
			a, b, c = append(a, x[i]), append(b, y[i]), append(c, weight(w, i))
		}
	}
	if len(a) < 2 {
		return unknown("fewer than two records")
	}
	r, ok := correlation(midRanks(a, c), midRanks(b, c), c)
	if !ok {
		return unknown("all values are alike")
	}
	return known(r)
}

// correlation is Pearson's, false when one side does not vary.
func correlation(x, y, w []float64) (float64, bool) {
	var n, mx, my float64
	for i := range x {
		n += weight(w, i)
		mx += weight(w, i) * x[i]
		my += weight(w, i) * y[i]
	}
	mx, my = mx/n, my/n
	var xx, yy, xy float64
	for i := range x {
		dx, dy := x[i]-mx, y[i]-my
		xx += weight(w, i) * dx * dx
		yy += weight(w, i) * dy * dy
		xy += weight(w, i) * dx * dy
	}
	// Ranks of values all alike differ from their mean by rounding at most.
	if floor := 1e-18 * n * (1 + mx*mx); xx <= floor || yy <= 1e-18*n*(1+my*my) {
		return math.NaN(), false
	}
	return max(-1, min(1, xy/math.Sqrt(xx*yy))), true
}
