package learn

import "math"

const (
	// Rates below 1e-8 are one lump, and so are those above 1 − 1e-8.
	farLogit  = 18.420680743952367
	rateNodes = 301
	kinNodes  = 41
	kinReach  = 3.5 // sds of the shift
)

// member is one group on its grid of rates. The grid is t = centre + width·sinh s
// with s in equal steps: fine where the posterior may peak, wide enough
// for all rates.
type member struct {
	group  Group
	tally  *tally
	shifts []float64   // δ of its kin
	logit  []float64   // of the nodes
	weight [][]float64 // by shift: prior mass of the low lump, of each node, of the high lump
	spread []float64   // dt/ds

	centre, width, low, step float64
}

// at is the logit so many steps from the first node.
func (m *member) at(steps float64) float64 { return m.centre + m.width*math.Sinh(m.low+steps*m.step) }

func newMember(g Group, shifts []float64) *member {
	m := &member{group: g, tally: newTally(g.Sites), shifts: shifts}
	a, b := g.Prior.A+float64(m.tally.x), g.Prior.B+float64(m.tally.n-m.tally.x)
	// Where a belief is nearly nought the posterior is a long slope that ends
	// near 1/trees; there the grid must be fine as well.
	centre := math.Log(max(a, 0.5)) - math.Log(max(b, 0.5))
	m.lay(centre, min(math.Sqrt(1/max(a, 0.5)+1/max(b, 0.5)), 1.5))
	return m
}

// lay lays the grid about a logit and weighs its nodes by the prior.
func (m *member) lay(centre, width float64) {
	low, high := math.Asinh((-farLogit-centre)/width), math.Asinh((farLogit-centre)/width)
	m.centre, m.width, m.low, m.step = centre, width, low, (high-low)/(rateNodes-1)
	m.logit, m.spread, m.weight = make([]float64, rateNodes), make([]float64, rateNodes), nil
	for i := range rateNodes {
		m.logit[i] = m.at(float64(i))
		m.spread[i] = width * math.Cosh(low+float64(i)*m.step)
	}
	prior := m.group.Prior
	for _, shift := range m.shifts {
		w := make([]float64, 0, rateNodes+2)
		w = append(w, prior.below(-farLogit-shift))
		for i, t := range m.logit {
			w = append(w, math.Exp(prior.logOdds(t-shift))*m.spread[i]*m.step)
		}
		w[1] /= 2
		w[rateNodes] /= 2
		m.weight = append(m.weight, append(w, prior.above(farLogit-shift)))
	}
}

// likelihood is that of the lumps and nodes, the largest being 1, and the
// logarithm of what they were divided by.
func (m *member) likelihood(theta float64) ([]float64, float64) {
	l := make([]float64, 0, rateNodes+2)
	l = append(l, m.tally.ofRate(-farLogit, theta))
	for _, t := range m.logit {
		l = append(l, m.tally.ofRate(t, theta))
	}
	l = append(l, m.tally.ofRate(farLogit, theta))
	most := math.Inf(-1)
	for _, v := range l {
		most = max(most, v)
	}
	for i, v := range l {
		l[i] = math.Exp(v - most)
	}
	return l, most - m.tally.trees.log(1, theta)
}

// told is the likelihood of the member's data by shift.
func (m *member) told(likelihood []float64) []float64 {
	out := make([]float64, len(m.shifts))
	for d, w := range m.weight {
		var sum float64
		for i, l := range likelihood {
			sum += l * w[i]
		}
		out[d] = sum
	}
	return out
}

// summary turns posterior mass of lumps and nodes into mean, interval and Beta.
func (m *member) summary(mass []float64, level float64) (Interval, Beta) {
	density := make([]float64, rateNodes)
	for i := range density {
		density[i] = mass[i+1] / m.step
	}
	density[0] *= 2 // ends had half a step
	density[rateNodes-1] *= 2
	cumulated := cumulate(density, m.step, mass[0])
	total := cumulated[rateNodes-1] + mass[rateNodes+1]
	var sum, first, second float64
	for i, t := range m.logit {
		p := logistic(t)
		sum += mass[i+1]
		first += mass[i+1] * p
		second += mass[i+1] * p * p
	}
	sum += mass[0] + mass[rateNodes+1]
	first, second = (first+mass[rateNodes+1])/sum, (second+mass[rateNodes+1])/sum
	at := func(q float64) float64 {
		switch q *= total; {
		case q < mass[0]:
			return 0
		case q > cumulated[rateNodes-1]:
			return 1
		}
		return logistic(m.at(quantile(cumulated, density, m.step, q)))
	}
	tail := (1 - level) / 2
	return Interval{Mean: first, Low: at(tail), High: at(1 - tail)}, BetaOf(first, max(second-first*first, 1e-300))
}
