package learn

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Firth fits with Firth's penalty, ½ ln det of the information: finite where
// records are parted, and less biased with few of them (Firth 1993, Biometrika
// 80:27–38; Heinze and Schemper 2002, Statist. Med. 21:2409–2419). The
// covariance is the inverse information at the fit.
func Firth(x [][]float64, n, y, offset []float64) (Fit, error) {
	d, err := newDesign(x, n, y, offset)
	if err != nil {
		return Fit{}, err
	}
	var f Fit
	free := make([]int8, d.columns)
	all := make([]bool, d.columns)
	for j := range all {
		all[j] = true
	}
	f.Separated = d.separated(all, free)
	beta := make([]float64, d.columns)
	here, err := d.firthValue(beta)
	if err != nil {
		return f, err
	}
	value := func(b []float64) float64 {
		v, err := d.firthValue(b)
		if err != nil {
			return math.Inf(-1)
		}
		return v
	}
	for f.Iterations = 1; f.Iterations <= mostSteps; f.Iterations++ {
		score, information, err := d.firthSlope(beta)
		if err != nil {
			return f, err
		}
		step, gain, err := newtonStep(score, information, make([]bool, d.columns))
		if err != nil {
			return f, err
		}
		next, v, ok := climbTo(beta, step, here, value, free)
		if ok {
			beta, here = next, v
		}
		if small := gain < 1e-16; small || !ok {
			f.Converged = small || gain < 1e-9*(1+math.Abs(here))
			break
		}
	}
	if !f.Converged {
		return f, errors.New("the regression with Firth's penalty did not settle; scale the columns or drop one")
	}
	_, information, err := d.firthSlope(beta)
	if err != nil {
		return f, err
	}
	var c mat.Cholesky
	if !c.Factorize(information) {
		return f, errFlatGround
	}
	f.Cov = mat.NewSymDense(d.columns, nil)
	if err := c.InverseTo(f.Cov); err != nil && !isCondition(err) {
		return f, err
	}
	f.Beta, f.Centre = beta, append([]float64(nil), beta...)
	f.LogLik, f.LogPost = d.logLik(beta), here
	f.Deviance = d.deviance(f.LogLik)
	return f, nil
}

func (d *design) information(beta []float64) (*mat.SymDense, mat.Cholesky, error) {
	m := mat.NewSymDense(d.columns, nil)
	d.slope(beta, make([]float64, d.columns), m)
	var c mat.Cholesky
	if !c.Factorize(m) {
		return nil, c, errFlatGround
	}
	return m, c, nil
}

func (d *design) firthValue(beta []float64) (float64, error) {
	_, c, err := d.information(beta)
	if err != nil {
		return 0, err
	}
	return d.logLik(beta) + c.LogDet()/2, nil
}

// firthSlope is Σ (y − n·p + h·(½ − p))·x, h the leverage of the row.
func (d *design) firthSlope(beta []float64) ([]float64, *mat.SymDense, error) {
	m, c, err := d.information(beta)
	if err != nil {
		return nil, nil, err
	}
	inverse := mat.NewSymDense(d.columns, nil)
	if err := c.InverseTo(inverse); err != nil && !isCondition(err) {
		return nil, nil, err
	}
	score := make([]float64, d.columns)
	for i, n := range d.n {
		row := d.row(i)
		v := mat.NewVecDense(d.columns, row)
		p := logistic(d.eta(i, beta))
		h := n * p * (1 - p) * mat.Inner(v, inverse, v)
		for j, x := range row {
			score[j] += (d.y[i] - n*p + h*(0.5-p)) * x
		}
	}
	return score, m, nil
}
