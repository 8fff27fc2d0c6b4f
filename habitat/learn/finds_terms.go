package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// findSite is rows of one host and site together.
type findSite struct {
	host, n, x int
	z          float64 // log-odds of bottomland from the centre, the mean over trees
}

// regression is the log-posterior of FitFinds over its parameters.
type regression struct {
	how            FindsPrior
	hosts          []Group
	sites          []findSite
	names          []string
	rateAt         []int // parameter of each host's rate, -1 without trees
	kinAt          []int // parameter of each host's kin shift, -1 without
	shiftAt        []int // parameters that are shifts
	slopeAt, rhoAt int
}

func newRegression(hosts []Group, rows []FindRow, how FindsPrior) *regression {
	r := &regression{how: how, hosts: hosts, slopeAt: -1, rhoAt: -1, rateAt: make([]int, len(hosts)), kinAt: make([]int, len(hosts))}
	type place struct{ host, site int }
	index := map[place]int{}
	trees, kin := make([]int, len(hosts)), map[string]int{}
	for _, row := range rows {
		if row.N == 0 {
			continue
		}
		trees[row.Host] += row.N
		s := findSite{row.Host, row.N, row.X, row.LogitB - how.Centre}
		i, known := index[place{row.Host, row.Site}]
		if row.Site < 0 || !known {
			index[place{row.Host, row.Site}] = len(r.sites)
			r.sites = append(r.sites, s)
			continue
		}
		old := &r.sites[i]
		old.z = (old.z*float64(old.n) + s.z*float64(s.n)) / float64(old.n+s.n)
		old.n, old.x = old.n+s.n, old.x+s.x
	}
	for _, h := range hosts {
		kin[h.Kin]++
	}
	add := func(name string) int {
		r.names = append(r.names, name)
		return len(r.names) - 1
	}
	for k, h := range hosts {
		r.rateAt[k] = -1
		if trees[k] > 0 {
			r.rateAt[k] = add("rate:" + h.Key)
		}
	}
	shift := map[string]int{}
	for k, h := range hosts {
		r.kinAt[k] = -1
		if h.Kin == "" || kin[h.Kin] == 1 || how.KinSD == 0 {
			continue
		}
		j, known := shift[h.Kin]
		if !known {
			j = add("kin:" + h.Kin)
			shift[h.Kin], r.shiftAt = j, append(r.shiftAt, j)
		}
		r.kinAt[k] = j
	}
	if how.SlopeSD > 0 {
		r.slopeAt = add("slope")
	}
	if how.Rho != (Beta{}) {
		r.rhoAt = add("logit-rho")
	}
	return r
}

// at reads a parameter, nought where it is not there.
func at(beta []float64, j int) float64 {
	if j < 0 {
		return 0
	}
	return beta[j]
}

func (r *regression) theta(beta []float64) float64 {
	if r.rhoAt < 0 {
		return 0
	}
	return math.Exp(beta[r.rhoAt])
}

func (r *regression) start() []float64 {
	beta := make([]float64, len(r.names))
	for k, j := range r.rateAt {
		if j >= 0 {
			beta[j] = math.Log(r.hosts[k].Prior.A) - math.Log(r.hosts[k].Prior.B)
		}
	}
	if r.slopeAt >= 0 {
		beta[r.slopeAt] = r.how.SlopeMean
	}
	if r.rhoAt >= 0 {
		beta[r.rhoAt] = logit(r.how.Rho.Mean())
	}
	return beta
}

func (r *regression) value(beta []float64) float64 {
	theta := r.theta(beta)
	var sum float64
	for _, s := range r.sites {
		eta := beta[r.rateAt[s.host]] + at(beta, r.slopeAt)*s.z
		p, q := logistic(eta), logistic(-eta)
		sum += rising(p, theta, s.x) + rising(q, theta, s.n-s.x) - rising(1, theta, s.n)
	}
	for k, j := range r.rateAt {
		if j >= 0 {
			sum += r.hosts[k].Prior.logOdds(beta[j] - at(beta, r.kinAt[k]))
		}
	}
	for _, j := range r.shiftAt {
		sum -= square(beta[j]/r.how.KinSD) / 2
	}
	if r.slopeAt >= 0 {
		sum -= square((beta[r.slopeAt]-r.how.SlopeMean)/r.how.SlopeSD) / 2
	}
	if r.rhoAt >= 0 {
		sum += r.how.Rho.logOdds(beta[r.rhoAt])
	}
	if math.IsNaN(sum) {
		return math.Inf(-1)
	}
	return sum
}

func square(v float64) float64 { return v * v }

// rising is Σ_{i<n} ln(base + iθ).
func rising(base, theta float64, n int) float64 {
	if theta == 0 {
		if n == 0 {
			return 0
		}
		return float64(n) * math.Log(base)
	}
	var sum float64
	for i := range n {
		sum += math.Log(base + float64(i)*theta)
	}
	return sum
}

// powers is the slopes of rising: Σ 1/u, Σ 1/u², Σ i/u, Σ i/u², Σ i²/u² with
// u = base + iθ.
func powers(base, theta float64, n int) (one, two, i1, i2, ii2 float64) {
	for i := range n {
		f := float64(i)
		u := 1 / (base + f*theta)
		one, two = one+u, two+u*u
		i1, i2, ii2 = i1+f*u, i2+f*u*u, ii2+f*f*u*u
	}
	return
}

// slope is the gradient and the Hessian's negative.
func (r *regression) slope(beta []float64) ([]float64, *mat.SymDense) {
	g, h := make([]float64, len(beta)), mat.NewSymDense(len(beta), nil)
	add := func(a, b int, v float64) { // to the information
		if a >= 0 && b >= 0 {
			h.SetSym(a, b, h.At(a, b)-v)
		}
	}
	theta := r.theta(beta)
	for _, s := range r.sites {
		a := r.rateAt[s.host]
		eta := beta[a] + at(beta, r.slopeAt)*s.z
		p, q := logistic(eta), logistic(-eta)
		h1, h2, hi, hi2, hii := powers(p, theta, s.x)
		m1, m2, mi, mi2, mii := powers(q, theta, s.n-s.x)
		_, _, ni, _, nii := powers(1, theta, s.n)
		v := p * q
		dEta := v * (h1 - m1)
		dEtaEta := -v*v*(h2+m2) + v*(q-p)*(h1-m1)
		dT := theta * (hi + mi - ni)
		dTT := theta*theta*(nii-hii-mii) + dT
		dEtaT := v * theta * (mi2 - hi2)
		g[a] += dEta
		add(a, a, dEtaEta)
		add(a, r.rhoAt, dEtaT)
		if r.slopeAt >= 0 {
			g[r.slopeAt] += dEta * s.z
			add(a, r.slopeAt, dEtaEta*s.z)
			add(r.slopeAt, r.slopeAt, dEtaEta*s.z*s.z)
			add(r.slopeAt, r.rhoAt, dEtaT*s.z)
		}
		if r.rhoAt >= 0 {
			g[r.rhoAt] += dT
			add(r.rhoAt, r.rhoAt, dTT)
		}
	}
	for k, j := range r.rateAt {
		if j < 0 {
			continue
		}
		d, dd := r.hosts[k].Prior.slope(beta[j] - at(beta, r.kinAt[k]))
		g[j] += d
		add(j, j, dd)
		if f := r.kinAt[k]; f >= 0 {
			g[f] -= d
			add(f, f, dd)
			add(j, f, -dd)
		}
	}
	for _, j := range r.shiftAt {
		g[j] -= beta[j] / square(r.how.KinSD)
		add(j, j, -1/square(r.how.KinSD))
	}
	if j := r.slopeAt; j >= 0 {
		g[j] -= (beta[j] - r.how.SlopeMean) / square(r.how.SlopeSD)
		add(j, j, -1/square(r.how.SlopeSD))
	}
	if j := r.rhoAt; j >= 0 {
		d, dd := r.how.Rho.slope(beta[j])
		g[j] += d
		add(j, j, dd)
	}
	return g, h
}

// slope is that of logOdds, and its curvature.
func (b Beta) slope(t float64) (first, second float64) {
	p, q := logistic(t), logistic(-t)
	return b.A*q - b.B*p, -(b.A + b.B) * p * q
}
