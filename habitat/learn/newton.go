package learn

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

const (
	mostSteps = 200
	// A step whose expected gain in log-posterior is less than this is the last.
	leastGain = 1e-12
)

// climb finds the mode of a concave log-posterior.
func (d *design) climb(g *gaussian) (Fit, error) {
	f := Fit{sign: g.sign}
	all := make([]bool, d.columns)
	for j := range all {
		all[j] = true
	}
	f.Separated = d.separated(all, g.sign)
	if f.Separated && g.anyFlat && d.separated(g.flat, g.sign) {
		return f, ErrSeparated
	}
	value := func(b []float64) float64 { return d.logLik(b) + g.logDensity(b) }
	beta := g.start()
	here := value(beta)
	for f.Iterations = 1; f.Iterations <= mostSteps; f.Iterations++ {
		gradient, information := d.posteriorSlope(g, beta)
		step, gain, err := heldStep(beta, gradient, information, g.sign)
		if err != nil {
			return f, err
		}
		small := gain < leastGain*(1+math.Abs(here)*1e-3)
		next, v, ok := climbTo(beta, step, here, value, g.sign)
		if ok { // also the last step, which costs nothing and doubles the digits
			beta, here = next, v
		}
		if small || !ok {
			f.Converged = small || gain < 1e-8*(1+math.Abs(here))
			break
		}
	}
	if !f.Converged {
		return f, errors.New("the regression did not settle; check for a column that repeats another, or give narrower priors")
	}
	return f, d.finish(&f, g, beta)
}

// finish fills in what follows from the mode.
func (d *design) finish(f *Fit, g *gaussian, beta []float64) error {
	f.Beta = beta
	f.LogLik = d.logLik(beta)
	f.LogPost = f.LogLik + g.logDensity(beta)
	f.Deviance = d.deviance(f.LogLik)
	gradient, information := d.posteriorSlope(g, beta)
	var c mat.Cholesky
	if !c.Factorize(information) {
		return errFlatGround
	}
	f.Cov = mat.NewSymDense(len(beta), nil)
	if err := c.InverseTo(f.Cov); err != nil && !isCondition(err) {
		return err
	}
	f.Centre = append([]float64(nil), beta...)
	// Only coefficients held at nought leave a slope; a step of the whole
	// Gaussian finds where its peak would be.
	pushed := make([]float64, len(beta))
	any := false
	for j, s := range g.sign {
		if s != 0 && beta[j] == 0 {
			pushed[j], any = gradient[j], true
		}
	}
	if any {
		for a := range beta {
			for b := range beta {
				f.Centre[a] += f.Cov.At(a, b) * pushed[b]
			}
		}
	}
	return nil
}

func (d *design) posteriorSlope(g *gaussian, beta []float64) ([]float64, *mat.SymDense) {
	gradient, information := make([]float64, len(beta)), mat.NewSymDense(len(beta), nil)
	d.slope(beta, gradient, information)
	g.slope(beta, gradient, information)
	return gradient, information
}

var errFlatGround = errors.New("some coefficients cannot be told apart from these records; give each a prior of finite sd, or drop a column that repeats another")

func isCondition(err error) bool {
	var c mat.Condition
	return errors.As(err, &c)
}

// newtonStep solves information·step = gradient over what is not held. gain
// is the rise a quadratic promises.
func newtonStep(gradient []float64, information *mat.SymDense, held []bool) (step []float64, gain float64, err error) {
	var free []int
	for j := range gradient {
		if !held[j] {
			free = append(free, j)
		}
	}
	step = make([]float64, len(gradient))
	if len(free) == 0 {
		return step, 0, nil
	}
	// Scaled to a unit diagonal: columns may be in any unit.
	scale := make([]float64, len(free))
	for a, j := range free {
		v := information.At(j, j)
		if !(v > 0) {
			return nil, 0, fmt.Errorf("coefficient %d: %w", j+1, errFlatGround)
		}
		scale[a] = 1 / math.Sqrt(v)
	}
	m, rhs := mat.NewSymDense(len(free), nil), mat.NewVecDense(len(free), nil)
	for a, ja := range free {
		rhs.SetVec(a, gradient[ja]*scale[a])
		for b := a; b < len(free); b++ {
			m.SetSym(a, b, information.At(ja, free[b])*scale[a]*scale[b])
		}
	}
	var c mat.Cholesky
	if !c.Factorize(m) || c.Cond() > 1e14 {
		return nil, 0, errFlatGround
	}
	var s mat.VecDense
	if err := c.SolveVecTo(&s, rhs); err != nil && !isCondition(err) {
		return nil, 0, errFlatGround
	}
	for a, j := range free {
		step[j] = s.AtVec(a) * scale[a]
	}
	return step, mat.Dot(&s, rhs) / 2, nil
}

// heldStep is the Newton step that keeps at nought what the slope pushes
// over its bound, and what the step itself would carry over it.
func heldStep(beta, gradient []float64, information *mat.SymDense, sign []int8) (step []float64, gain float64, err error) {
	held := make([]bool, len(beta))
	for j, s := range sign {
		held[j] = s != 0 && beta[j] == 0 && float64(s)*gradient[j] <= 0
	}
	for {
		if step, gain, err = newtonStep(gradient, information, held); err != nil {
			return nil, 0, err
		}
		more := false
		for j, s := range sign {
			if s != 0 && !held[j] && beta[j] == 0 && float64(s)*step[j] < 0 {
				held[j], more = true, true
			}
		}
		if !more {
			return step, gain, nil
		}
	}
}

// climbTo takes the step as far as the first bound, or a half, quarter … of
// it, until the value rises. It stops where none of these rises.
func climbTo(from, step []float64, here float64, value func([]float64) float64, sign []int8) ([]float64, float64, bool) {
	size, stop := 1.0, -1
	for j, s := range sign {
		if s != 0 && float64(s)*(from[j]+size*step[j]) < 0 {
			size, stop = -from[j]/step[j], j
		}
	}
	for first := true; size > 1e-10; size, first = size/2, false {
		to := make([]float64, len(from))
		for j := range to {
			to[j] = from[j] + size*step[j]
			if sign[j] != 0 && ((first && j == stop) || float64(sign[j])*to[j] < 0) {
				to[j] = 0
			}
		}
		if v := value(to); v > here || (v == here && first) {
			return to, v, true
		}
	}
	return nil, 0, false
}
