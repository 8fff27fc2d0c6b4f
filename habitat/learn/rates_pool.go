package learn

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

const (
	rhoNodes = 41
	leastRho = 1e-4
	mostRho  = 0.99
	// Nodes of ρ whose posterior is e^-20 of the best one's are left out.
	rhoDepth = 20
)

// pool is all groups, their kins and the grid of ρ.
type pool struct {
	how     Pooling
	members []*member
	kins    [][]int // members of each kin, in order of first mention
	kinOf   []int
	prior   [][]float64 // by kin: log-prior mass of its shifts
}

// rhoNode is one value of ρ and what is believed given it.
type rhoNode struct {
	t, theta   float64
	mass       float64     // posterior
	log        float64     // log-posterior density of t, unscaled
	likelihood [][]float64 // by member
	told       [][]float64 // by member and shift
	shift      [][]float64 // by kin: posterior of its shifts
}

func newPool(groups []Group, how Pooling, sizes map[string]int) *pool {
	p := &pool{how: how}
	index := map[string]int{}
	var sharing []float64
	var sharingPrior []float64
	for d := range kinNodes {
		z := kinReach * (2*float64(d)/(kinNodes-1) - 1)
		sharing, sharingPrior = append(sharing, z*how.KinSD), append(sharingPrior, -z*z/2)
	}
	norm := logSum(sharingPrior)
	for d := range sharingPrior {
		sharingPrior[d] -= norm
	}
	for k, g := range groups {
		alone := g.Kin == "" || sizes[g.Kin] == 1 || how.KinSD == 0
		f, known := index[g.Kin]
		if !known || alone {
			f = len(p.kins)
			index[g.Kin] = f
			p.kins = append(p.kins, nil)
			if alone {
				p.prior = append(p.prior, []float64{0})
			} else {
				p.prior = append(p.prior, sharingPrior)
			}
		}
		shifts := []float64{0}
		if !alone {
			shifts = sharing
		}
		p.kins[f], p.kinOf = append(p.kins[f], k), append(p.kinOf, f)
		p.members = append(p.members, newMember(g, shifts))
	}
	return p
}

// at works out all that is believed given one ρ, as its logit.
func (p *pool) at(t float64) rhoNode {
	n := rhoNode{t: t, theta: math.Exp(t)} // ρ/(1−ρ)
	if p.how.Rho == (Beta{}) {
		n.theta = 0
	} else {
		n.log = p.how.Rho.logOdds(t)
	}
	for _, m := range p.members {
		if m.tally.n == 0 {
			n.likelihood, n.told = append(n.likelihood, nil), append(n.told, nil)
			continue
		}
		l, scale := m.likelihood(n.theta)
		n.likelihood, n.told = append(n.likelihood, l), append(n.told, m.told(l))
		n.log += scale
	}
	for f, members := range p.kins {
		q := append([]float64(nil), p.prior[f]...)
		for _, k := range members {
			for d, v := range n.told[k] {
				q[d] += math.Log(v)
			}
		}
		sum := logSum(q)
		n.log += sum
		for d := range q {
			q[d] = math.Exp(q[d] - sum)
		}
		n.shift = append(n.shift, q)
	}
	return n
}

// weighRho lays nodes over the values of ρ that matter, finer until they fill
// the grid.
func (p *pool) weighRho() []rhoNode {
	if p.how.Rho == (Beta{}) {
		n := p.at(0)
		n.mass = 1
		return []rhoNode{n}
	}
	low, high := logit(leastRho), logit(mostRho)
	for round := 0; ; round++ {
		nodes := make([]rhoNode, rhoNodes)
		step := (high - low) / (rhoNodes - 1)
		best := math.Inf(-1)
		for i := range nodes {
			nodes[i] = p.at(low + float64(i)*step)
			best = max(best, nodes[i].log)
		}
		first, last := rhoNodes, 0
		var sum float64
		for i := range nodes {
			if nodes[i].log >= best-rhoDepth {
				first, last = min(first, i), max(last, i)
			}
			nodes[i].mass = math.Exp(nodes[i].log - best)
			if i == 0 || i == rhoNodes-1 {
				nodes[i].mass /= 2
			}
			sum += nodes[i].mass
		}
		first, last = max(first-1, 0), min(last+1, rhoNodes-1)
		if last-first > rhoNodes*6/10 || round == 8 {
			for i := range nodes {
				nodes[i].mass /= sum
			}
			return nodes
		}
		low, high = nodes[first].t, nodes[last].t
	}
}

// rho sums up the overdispersion, and tells whether the data speak of it.
func (p *pool) rho(nodes []rhoNode) (Interval, bool) {
	if len(nodes) == 1 {
		return Interval{}, false
	}
	told := false
	for _, m := range p.members {
		told = told || m.tally.n > m.tally.sites
	}
	step := nodes[1].t - nodes[0].t
	density := make([]float64, len(nodes))
	var out Interval
	for i, n := range nodes {
		density[i] = n.mass / step
		if i == 0 || i == len(nodes)-1 {
			density[i] *= 2
		}
		out.Mean += n.mass * logistic(n.t)
	}
	cumulated := cumulate(density, step, 0)
	total, tail := cumulated[len(nodes)-1], (1-p.how.Level)/2
	out.Low = logistic(nodes[0].t + step*quantile(cumulated, density, step, total*tail))
	out.High = logistic(nodes[0].t + step*quantile(cumulated, density, step, total*(1-tail)))
	return out, told
}

// rate sums up one member over all ρ and shifts.
func (p *pool) rate(k int, nodes []rhoNode) Rate {
	m := p.members[k]
	r := Rate{Key: m.group.Key, Prior: m.group.Prior, X: m.tally.x, N: m.tally.n, Sites: m.tally.sites}
	if len(nodes) == 1 && len(m.shifts) == 1 {
		r.Beta = Beta{A: r.Prior.A + float64(r.X), B: r.Prior.B + float64(r.N-r.X)}
		r.Mean = r.Beta.Mean()
		tail := (1 - p.how.Level) / 2
		r.Low = mathext.InvRegIncBeta(r.Beta.A, r.Beta.B, tail)
		r.High = mathext.InvRegIncBeta(r.Beta.A, r.Beta.B, 1-tail)
		return r
	}
	if m.tally.n == 0 && len(m.shifts) == 1 { // its prior, no digit changed
		r.Beta, r.Mean = r.Prior, r.Prior.Mean()
		r.Low, r.High = r.Prior.Interval(p.how.Level)
		return r
	}
	mass := make([]float64, rateNodes+2)
	byShift := make([]float64, len(m.shifts))
	for _, n := range nodes {
		if n.mass < 1e-12 {
			continue
		}
		q := n.shift[p.kinOf[k]]
		if m.tally.n == 0 {
			for d := range byShift {
				byShift[d] += n.mass * q[d]
			}
			continue
		}
		for i, l := range n.likelihood[k] {
			if l < 1e-30 {
				continue
			}
			var w float64
			for d, share := range q {
				if share > 0 {
					w += share / n.told[k][d] * m.weight[d][i]
				}
			}
			mass[i] += n.mass * l * w
		}
	}
	for d, share := range byShift {
		if share > 0 {
			for i, w := range m.weight[d] {
				mass[i] += share * w
			}
		}
	}
	r.Interval, r.Beta = m.summary(mass, p.how.Level)
	return r
}
