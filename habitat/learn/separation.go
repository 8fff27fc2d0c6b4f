package learn

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	// A direction parts the rows when the worst row goes wrong by less than
	// this share of the best one. Newton steps near such a direction to e^-η.
	partedShare = 1e-5
	// The ridge that keeps steps finite, on columns of largest value 1.
	leastRidge = 1e-8
)

// separated tells whether some direction of the coefficients named fits every
// row at least as well the farther one goes, and one better (Albert and
// Anderson 1984, Biometrika 71:1–10, from memory: complete or quasi-complete
// separation). Newton steps of the likelihood turn towards such a direction;
// what is found is then held against every row, so that a yes is never a
// matter of slow convergence.
func (d *design) separated(named []bool, sign []int8) bool {
	p, s := d.parting(named, sign)
	if p == nil {
		return false
	}
	g := &gaussian{mean: make([]float64, p.columns), precision: mat.NewSymDense(p.columns, nil), sign: s}
	for j := range p.columns {
		g.precision.SetSym(j, j, leastRidge)
	}
	value := func(b []float64) float64 { return p.logLik(b) + g.logDensity(b) }
	beta := g.start()
	here := value(beta)
	for range 60 {
		gradient, information := p.posteriorSlope(g, beta)
		step, gain, err := heldStep(beta, gradient, information, s)
		if err != nil {
			return p.parts(beta)
		}
		if p.parts(step) && p.signed(step, s) || p.parts(beta) {
			return true
		}
		next, v, ok := climbTo(beta, step, here, value, s)
		if !ok || gain < 1e-13 {
			return false
		}
		beta, here = next, v
	}
	return false
}

// parting keeps the named columns, largest value 1, and of each row only
// whether all trials succeeded, none or some. nil when nothing is left.
func (d *design) parting(named []bool, sign []int8) (*design, []int8) {
	var columns []int
	var signs []int8
	var scale []float64
	for j, use := range named {
		var most float64
		for i := range d.n {
			if d.n[i] > 0 {
				most = max(most, math.Abs(d.row(i)[j]))
			}
		}
		if use && most > 0 {
			columns, signs, scale = append(columns, j), append(signs, sign[j]), append(scale, 1/most)
		}
	}
	if len(columns) == 0 {
		return nil, nil
	}
	p := &design{columns: len(columns)}
	for i, n := range d.n {
		if n == 0 {
			continue
		}
		for a, j := range columns {
			p.x = append(p.x, d.row(i)[j]*scale[a])
		}
		share := 0.5
		switch d.y[i] {
		case 0:
			share = 0
		case n:
			share = 1
		}
		p.n, p.y = append(p.n, 1), append(p.y, share)
	}
	p.offset = make([]float64, len(p.n))
	return p, signs
}

// parts tells whether rows with successes lie on one side of a direction and
// those without on the other, mixed rows in between.
func (d *design) parts(direction []float64) bool {
	var best, worst, size float64
	for i := range d.n {
		m := d.eta(i, direction)
		switch d.y[i] {
		case 0:
			best, worst = max(best, -m), max(worst, m)
		case 1:
			best, worst = max(best, m), max(worst, -m)
		default:
			worst = max(worst, math.Abs(m))
		}
	}
	for _, v := range direction {
		size = max(size, math.Abs(v))
	}
	return best > 1e-6*size && worst <= partedShare*best
}

// signed tells whether one may go along a direction without end.
func (d *design) signed(direction []float64, sign []int8) bool {
	for j, s := range sign {
		if float64(s)*direction[j] < 0 {
			return false
		}
	}
	return true
}
