package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Steps, in log-odds of bottomland, to which the sites of a host are gathered
// before its rate is laid over a grid: what rounding moves is a slope times
// half a step, and with many sites it evens out.
const (
	fineStep   = 0.02
	coarseStep = 0.1 // above manySites
	manySites  = 1000
)

// shared is one choice of the terms a host shares with others.
type shared struct{ shift, slope, theta float64 }

// sharedPoints spreads kin shift, slope and overdispersion as the Gaussian has
// them: two points along each axis of its root, of equal weight, which keep
// its mean and covariance (cubature of degree 3; Arasaratnam and Haykin 2009,
// IEEE Trans. Autom. Control 54:1254–1269, from memory).
func (r *regression) sharedPoints(k int, beta []float64, cov mat.Symmetric) []shared {
	var js []int
	for _, j := range []int{r.kinAt[k], r.slopeAt, r.rhoAt} {
		if j >= 0 {
			js = append(js, j)
		}
	}
	read := func(v []float64) shared {
		s := shared{at(v, r.kinAt[k]), at(v, r.slopeAt), 0}
		s.theta = r.theta(v)
		return s
	}
	d := len(js)
	if d == 0 {
		return []shared{read(beta)}
	}
	block := mat.NewSymDense(d, nil)
	for a := range d {
		for b := a; b < d; b++ {
			block.SetSym(a, b, cov.At(js[a], js[b]))
		}
	}
	var c mat.Cholesky
	if !c.Factorize(block) {
		return []shared{read(beta)}
	}
	var root mat.TriDense
	c.LTo(&root)
	var out []shared
	for axis := range d {
		for _, side := range []float64{-1, 1} {
			v := append([]float64(nil), beta...)
			for a := range d {
				v[js[a]] += side * math.Sqrt(float64(d)) * root.At(a, axis)
			}
			out = append(out, read(v))
		}
	}
	return out
}

// gathered is a host's sites by log-odds of bottomland.
func (r *regression) gathered(k int) (zs []float64, tallies []*tally, counts []Count) {
	index := map[float64]int{}
	var sites [][]Count
	here := 0
	for _, s := range r.sites {
		if s.host == k {
			here++
		}
	}
	step := fineStep
	if here > manySites {
		step = coarseStep
	}
	for _, s := range r.sites {
		if s.host != k {
			continue
		}
		z := math.Round(s.z/step) * step
		i, known := index[z]
		if !known {
			i = len(zs)
			index[z] = i
			zs, sites = append(zs, z), append(sites, nil)
		}
		sites[i] = append(sites[i], Count{s.x, s.n})
		counts = append(counts, Count{s.x, s.n})
	}
	for _, s := range sites {
		tallies = append(tallies, newTally(s))
	}
	return zs, tallies, counts
}

// rate sums up host k over the shared terms.
func (r *regression) rate(k int, beta []float64, cov mat.Symmetric) Rate {
	h := r.hosts[k]
	zs, tallies, counts := r.gathered(k)
	points := r.sharedPoints(k, beta, cov)
	shifts := make([]float64, len(points))
	for i, p := range points {
		shifts[i] = p.shift
	}
	out := Rate{Key: h.Key, Prior: h.Prior}
	if len(counts) == 0 && r.kinAt[k] < 0 {
		out.Beta, out.Mean = h.Prior, h.Prior.Mean()
		out.Low, out.High = h.Prior.Interval(r.how.Level)
		return out
	}
	m := newMember(Group{Key: h.Key, Prior: h.Prior, Sites: counts}, shifts)
	out.X, out.N, out.Sites = m.tally.x, m.tally.n, m.tally.sites
	if j := r.rateAt[k]; j >= 0 { // the grid where this host's rate at the centre is
		m.lay(beta[j], min(max(math.Sqrt(cov.At(j, j)), 1e-4), 1.5))
	}
	mass := make([]float64, rateNodes+2)
	for d, p := range points {
		like := make([]float64, rateNodes+2)
		most := math.Inf(-1)
		for i := range like {
			t := -farLogit
			switch {
			case i == rateNodes+1:
				t = farLogit
			case i > 0:
				t = m.logit[i-1]
			}
			for b, tally := range tallies {
				like[i] += tally.ofRate(t+p.slope*zs[b], p.theta)
			}
			most = max(most, like[i])
		}
		var sum float64
		for i, l := range like {
			like[i] = math.Exp(l-most) * m.weight[d][i]
			sum += like[i]
		}
		for i, l := range like {
			mass[i] += l / sum / float64(len(points))
		}
	}
	out.Interval, out.Beta = m.summary(mass, r.how.Level)
	return out
}
