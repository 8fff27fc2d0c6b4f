package learn

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// gaussian is a checked Prior.
type gaussian struct {
	mean      []float64
	precision *mat.SymDense // nought where flat
	logNorm   float64       // logarithm of the density at the mean
	flat      []bool
	anyFlat   bool
	sign      []int8 // never nil
}

func newGaussian(p Prior, columns int) (*gaussian, error) {
	for _, l := range []struct {
		name string
		n    int
		none bool
	}{{"means", len(p.Mean), p.Mean == nil}, {"standard deviations", len(p.SD), p.SD == nil}, {"signs", len(p.Sign), p.Sign == nil}} {
		if !l.none && l.n != columns {
			return nil, fmt.Errorf("prior: %d %s for %d coefficients; give one for each", l.n, l.name, columns)
		}
	}
	g := &gaussian{
		mean: make([]float64, columns), precision: mat.NewSymDense(columns, nil),
		flat: make([]bool, columns), sign: make([]int8, columns),
	}
	copy(g.mean, p.Mean)
	copy(g.sign, p.Sign)
	for j, m := range g.mean {
		if math.IsNaN(m) || math.IsInf(m, 0) {
			return nil, fmt.Errorf("prior of coefficient %d: mean %g; give a number", j+1, m)
		}
	}
	if p.Cov != nil {
		return g, g.full(p.Cov)
	}
	for j := range columns {
		sd := math.Inf(1)
		if p.SD != nil {
			sd = p.SD[j]
		}
		switch {
		case math.IsInf(sd, 1):
			g.flat[j], g.anyFlat = true, true
		case !(sd >= 1e-9 && sd <= 1e9):
			return nil, fmt.Errorf("prior of coefficient %d: sd %g; give 1e-9 to 1e9, or infinity for a flat one", j+1, sd)
		default:
			g.precision.SetSym(j, j, 1/(sd*sd))
			g.logNorm -= math.Log(sd) + math.Log(2*math.Pi)/2
		}
	}
	return g, nil
}

// full takes a covariance in place of standard deviations.
func (g *gaussian) full(cov mat.Symmetric) error {
	k := len(g.mean)
	if n := cov.SymmetricDim(); n != k {
		return fmt.Errorf("prior: covariance of %d for %d coefficients; give one for each", n, k)
	}
	var c mat.Cholesky
	if !c.Factorize(cov) {
		return fmt.Errorf("prior: the covariance is not positive definite; give one that is, or standard deviations")
	}
	if err := c.InverseTo(g.precision); err != nil {
		return fmt.Errorf("prior: the covariance cannot be inverted (%v); give standard deviations", err)
	}
	g.logNorm = -(c.LogDet() + float64(k)*math.Log(2*math.Pi)) / 2
	return nil
}

// logDensity is the logarithm of the Gaussian's density, flat ones left out.
func (g *gaussian) logDensity(beta []float64) float64 {
	var q float64
	for a := range beta {
		for b := range beta {
			q += (beta[a] - g.mean[a]) * g.precision.At(a, b) * (beta[b] - g.mean[b])
		}
	}
	return g.logNorm - q/2
}

func (g *gaussian) slope(beta, gradient []float64, information *mat.SymDense) {
	for a := range beta {
		for b := range beta {
			gradient[a] -= g.precision.At(a, b) * (beta[b] - g.mean[b])
		}
	}
	information.AddSym(information, g.precision)
}

// start is the prior's mean, held to its sign.
func (g *gaussian) start() []float64 {
	beta := append([]float64(nil), g.mean...)
	for j, s := range g.sign {
		if float64(s)*beta[j] < 0 {
			beta[j] = 0
		}
	}
	return beta
}
