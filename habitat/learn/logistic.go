package learn

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// ErrSeparated is returned where a line through the data parts successes from
// failures and a flat prior lets a coefficient run off without end.
var ErrSeparated = errors.New("successes and failures are parted without overlap, so a coefficient has no finite best value; give each coefficient a prior of finite sd, or gather more records")

// A Prior of regression coefficients is Gaussian. A nil Mean is nought, a nil
// SD or an infinite one is flat. Where Cov is set it stands in place of SD.
// Sign holds coefficients to one side: -1 at most nought, +1 at least nought,
// 0 free; nil leaves all free.
type Prior struct {
	Mean []float64
	SD   []float64
	Cov  mat.Symmetric
	Sign []int8
}

// Fit is a regression at its best point and the Gaussian around it (Laplace's
// approximation: Tierney and Kadane 1986, J. Amer. Stat. Assoc. 81:82–86, from memory).
type Fit struct {
	Beta       []float64     // coefficients, the mode of the posterior
	Centre     []float64     // of the Gaussian: Beta, except where a coefficient is held at nought and the slope there still pushes
	Cov        *mat.SymDense // of the Gaussian, as if no sign were held; nil when not converged
	LogLik     float64       // without the binomial coefficients
	LogPost    float64       // LogLik + logarithm of the Gaussian prior's density; flat coefficients add nothing, a held sign neither. In Firth LogLik + ½ ln det information
	Deviance   float64       // twice the loss of likelihood against rows that fit themselves
	Iterations int
	Converged  bool
	Separated  bool // the records alone have no finite best coefficients; with a proper prior the fit is finite all the same
	sign       []int8
}

// SE is the standard deviation of coefficient j in the Gaussian.
func (f *Fit) SE(j int) float64 { return math.Sqrt(f.Cov.At(j, j)) }

// Interval holds coefficient j with the chance level (0.9), equal tails. For
// a coefficient with a held sign the Gaussian of this coefficient alone is cut
// off at nought: the quantiles are those of what remains, so the interval
// keeps its sign and is never empty.
func (f *Fit) Interval(j int, level float64) (low, high float64) {
	mean, sd := f.Centre[j], f.SE(j)
	tail := (1 - level) / 2
	unit := distuv.UnitNormal
	var side int8
	if f.sign != nil {
		side = f.sign[j]
	}
	switch side {
	case 0:
		return mean + sd*unit.Quantile(tail), mean - sd*unit.Quantile(tail)
	case 1: // mirrored, so that the tail left over is always the lower one
		low, high = cutBelow(-mean, sd, tail)
		return -high, -low
	}
	return cutBelow(mean, sd, tail)
}

// cutBelow gives two quantiles of a Gaussian cut off above nought.
func cutBelow(mean, sd, tail float64) (low, high float64) {
	unit := distuv.UnitNormal
	kept := unit.CDF(-mean / sd)
	if kept < 1e-12 {
		return -sd * beyond(mean/sd, tail), -sd * beyond(mean/sd, 1-tail)
	}
	return min(0, mean+sd*unit.Quantile(tail*kept)), min(0, mean+sd*unit.Quantile((1-tail)*kept))
}

// beyond is how far past z, z above 7, a share of the Gaussian's tail beyond z
// reaches: from density/z as the tail (Mills), which z + t/2 and ln(1+t/z) hold.
func beyond(z, share float64) float64 {
	t := 0.0
	for range 50 {
		t = (-math.Log(share) - math.Log1p(t/z)) / (z + t/2)
	}
	return t
}

// Predict gives the log-odds of a row and their standard deviation.
func (f *Fit) Predict(x []float64, offset float64) (eta, sd float64) {
	v := mat.NewVecDense(len(x), x)
	for j, b := range f.Beta {
		offset += b * x[j]
	}
	return offset, math.Sqrt(mat.Inner(v, f.Cov, v))
}

// Logistic fits y successes of n trials to rows x (an intercept is a column of
// ones) by the mode of the posterior under a Gaussian prior, with damped Newton
// steps; signs are held by projection (Bertsekas 1982, SIAM J. Control Optim.
// 20:221–246, from memory). n and y need not be whole: a record of weight w
// enters as w·n and w·y. offset is added to the log-odds; nil is nought. A
// ridge is the prior of sd 1/√λ (le Cessie and van Houwelingen 1992).
//
// ErrSeparated comes with a Fit that says Separated. Any other error tells
// the row or coefficient, counted from 1.
func Logistic(x [][]float64, n, y, offset []float64, prior Prior) (Fit, error) {
	d, err := newDesign(x, n, y, offset)
	if err != nil {
		return Fit{}, err
	}
	p, err := newGaussian(prior, d.columns)
	if err != nil {
		return Fit{}, err
	}
	return d.climb(p)
}

// design is checked data, rows one after the other.
type design struct {
	columns int
	x       []float64
	n, y    []float64
	offset  []float64
}

func (d *design) row(i int) []float64 { return d.x[i*d.columns : (i+1)*d.columns] }

func newDesign(x [][]float64, n, y, offset []float64) (*design, error) {
	if len(x) != len(n) || len(x) != len(y) || (offset != nil && len(offset) != len(x)) {
		return nil, fmt.Errorf("%d rows, but trials for %d, successes for %d and offsets for %d; each row needs one of each", len(x), len(n), len(y), len(offset))
	}
	if len(x) == 0 {
		return nil, errors.New("no rows; a regression needs one at least")
	}
	d := &design{columns: len(x[0]), n: n, y: y, offset: offset}
	if d.columns == 0 {
		return nil, errors.New("row 1 has no columns; an intercept alone is a column of ones")
	}
	if offset == nil {
		d.offset = make([]float64, len(x))
	}
	d.x = make([]float64, 0, len(x)*d.columns)
	for i, row := range x {
		if len(row) != d.columns {
			return nil, fmt.Errorf("row %d has %d columns, row 1 has %d; give all rows the same", i+1, len(row), d.columns)
		}
		for j, v := range row {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("row %d, column %d: %g is no number to fit; leave the row out", i+1, j+1, v)
			}
		}
		if !(n[i] >= 0) || math.IsInf(n[i], 0) || !(y[i] >= 0) || !(y[i] <= n[i]) {
			return nil, fmt.Errorf("row %d: %g successes of %g trials; expected 0 up to the trials", i+1, y[i], n[i])
		}
		if o := d.offset[i]; math.IsNaN(o) || math.IsInf(o, 0) {
			return nil, fmt.Errorf("row %d: the offset %g is no number; leave the row out", i+1, o)
		}
		d.x = append(d.x, row...)
	}
	return d, nil
}

// logistic is 1/(1+e^-t).
func logistic(t float64) float64 {
	if t >= 0 {
		return 1 / (1 + math.Exp(-t))
	}
	e := math.Exp(t)
	return e / (1 + e)
}

// softplus is ln(1+e^t), without overflow.
func softplus(t float64) float64 { return max(t, 0) + math.Log1p(math.Exp(-math.Abs(t))) }

// logit is the log-odds of p.
func logit(p float64) float64 { return math.Log(p) - math.Log1p(-p) }

func (d *design) eta(i int, beta []float64) float64 {
	t := d.offset[i]
	for j, v := range d.row(i) {
		t += v * beta[j]
	}
	return t
}

func (d *design) logLik(beta []float64) float64 {
	var sum float64
	for i := range d.n {
		t := d.eta(i, beta)
		// y·ln p + (n−y)·ln(1−p)
		sum -= d.y[i]*softplus(-t) + (d.n[i]-d.y[i])*softplus(t)
	}
	return sum
}

// deviance is 2·(likelihood of rows that fit themselves − likelihood).
func (d *design) deviance(logLik float64) float64 {
	var own float64
	for i, n := range d.n {
		if y := d.y[i]; y > 0 && y < n {
			own += y*math.Log(y/n) + (n-y)*math.Log1p(-y/n)
		}
	}
	return 2 * (own - logLik)
}

// slope adds the gradient of logLik, and its Hessian's negative.
func (d *design) slope(beta, gradient []float64, information *mat.SymDense) {
	k := d.columns
	upper := make([]float64, k*k)
	for i, n := range d.n {
		p := logistic(d.eta(i, beta))
		residual, weight := d.y[i]-n*p, n*p*(1-p)
		row := d.row(i)
		for a, va := range row {
			gradient[a] += residual * va
			wa := weight * va
			for b := a; b < k; b++ {
				upper[a*k+b] += wa * row[b]
			}
		}
	}
	for a := range k {
		for b := a; b < k; b++ {
			information.SetSym(a, b, information.At(a, b)+upper[a*k+b])
		}
	}
}
