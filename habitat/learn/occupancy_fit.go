package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// occupancyMode climbs by expectation and maximisation (Dempster, Laird and
// Rubin 1977, from memory): it cannot overshoot an edge.
func occupancyMode(kinds []history, psiPrior, pPrior Beta) (psi, p float64) {
	psi, p = 0.5, 0.5
	for range 200_000 {
		present, visits, finds, places := psiPrior.A-1, pPrior.A+pPrior.B-2, pPrior.A-1, psiPrior.A+psiPrior.B-2
		for _, k := range kinds {
			there := 1.0
			if k.finds == 0 {
				missed := psi * math.Pow(1-p, k.visits)
				there = missed / (missed + 1 - psi)
			}
			present += k.places * there
			visits += k.places * there * k.visits
			finds += k.places * k.finds
			places += k.places
		}
		nextPsi, nextP := present/places, p
		if visits > 0 {
			nextP = min(finds/visits, 1)
		}
		moved := math.Abs(nextPsi-psi) + math.Abs(nextP-p)
		psi, p = nextPsi, nextP
		if moved < 1e-15 {
			break
		}
	}
	return psi, p
}

// occupancyCov is the inverse curvature in log-odds, by central differences;
// nil at an edge.
func occupancyCov(kinds []history, psiPrior, pPrior Beta, psi, p float64) *mat.SymDense {
	const edge, step = 1e-6, 1e-3
	if psi < edge || psi > 1-edge || p < edge || p > 1-edge {
		return nil
	}
	value := func(a, b float64) float64 {
		u, v := logistic(logit(psi)+a*step), logistic(logit(p)+b*step)
		return occupancyLog(kinds, u, v) + (psiPrior.A-1)*math.Log(u) + (psiPrior.B-1)*math.Log1p(-u) +
			(pPrior.A-1)*math.Log(v) + (pPrior.B-1)*math.Log1p(-v)
	}
	middle := 2 * value(0, 0)
	h := mat.NewSymDense(2, []float64{
		-(value(1, 0) + value(-1, 0) - middle) / (step * step),
		-(value(1, 1) - value(1, -1) - value(-1, 1) + value(-1, -1)) / (4 * step * step),
		0,
		-(value(0, 1) + value(0, -1) - middle) / (step * step),
	})
	var c mat.Cholesky
	if !c.Factorize(h) {
		return nil
	}
	cov := mat.NewSymDense(2, nil)
	if err := c.InverseTo(cov); err != nil && !isCondition(err) {
		return nil
	}
	return cov
}

// occupancyGrid integrates over ψ and p. The grid is even in the arc sine of
// the root, whose sd is alike everywhere.
func occupancyGrid(d *Detection, kinds []history, psiPrior, pPrior Beta, level float64) {
	const nodes = 240
	value, weight := make([]float64, nodes), make([]float64, nodes)
	step := math.Pi / 2 / nodes
	for i := range nodes {
		a := (float64(i) + 0.5) * step
		value[i] = square(math.Sin(a))
		weight[i] = math.Log(math.Sin(2 * a)) // d value / d a
	}
	axis := func(prior Beta) []float64 {
		out := make([]float64, nodes)
		for i, v := range value {
			out[i] = weight[i] + (prior.A-1)*math.Log(v) + (prior.B-1)*math.Log1p(-v)
		}
		return out
	}
	psiLog, pLog := axis(psiPrior), axis(pPrior)
	log, best := make([]float64, nodes*nodes), math.Inf(-1)
	seen := make([]float64, len(kinds)) // chance of each history at a place that has it
	for j, p := range value {
		for k, h := range kinds {
			seen[k] = math.Pow(p, h.finds) * math.Pow(1-p, h.visits-h.finds)
		}
		for i, psi := range value {
			v := psiLog[i] + pLog[j]
			for k, h := range kinds {
				there := psi * seen[k]
				if h.finds == 0 {
					there += 1 - psi
				}
				v += h.places * math.Log(there)
			}
			log[i*nodes+j] = v
			best = max(best, v)
		}
	}
	psis, ps := make([]float64, nodes), make([]float64, nodes)
	for k, v := range log {
		w := math.Exp(v - best)
		psis[k/nodes] += w
		ps[k%nodes] += w
	}
	var variance float64
	d.Psi, _ = arcs(value, psis, step, level)
	d.P, variance = arcs(value, ps, step, level)
	d.PBeta = BetaOf(d.P.Mean, max(variance, 1e-300))
}

// arcs sums up masses of cells even in the arc sine.
func arcs(value, mass []float64, step, level float64) (Interval, float64) {
	var sum, first, second float64
	for i, w := range mass {
		sum, first, second = sum+w, first+w*value[i], second+w*value[i]*value[i]
	}
	first, second = first/sum, second/sum
	at := func(q float64) float64 {
		var below float64
		for i, w := range mass {
			if below+w >= q*sum {
				return square(math.Sin((float64(i) + (q*sum-below)/w) * step))
			}
			below += w
		}
		return 1
	}
	return Interval{Mean: first, Low: at((1 - level) / 2), High: at((1 + level) / 2)}, second - first*first
}
