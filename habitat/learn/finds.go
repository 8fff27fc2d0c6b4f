package learn

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// FindRow is what trees of one host gave at one site.
type FindRow struct {
	Host   int     // index of the host
	N, X   int     // trees inspected, with finds
	LogitB float64 // log-odds of bottomland there
	Site   int     // rows of one host and site are one site; below 0 the row is a site of its own
}

// FindsPrior is how hosts, sites and ground hang together.
type FindsPrior struct {
	Pooling
	SlopeMean float64 // of the slope on log-odds of bottomland
	SlopeSD   float64 // its sd; 0 holds the slope at nought
	Centre    float64 // log-odds of bottomland at which a host's rate is told
}

// DefaultFinds is DefaultPooling with a slope of N(0, 0.5²) about log-odds of
// 2, a bottomland of 0.88. Common practice, no source.
func DefaultFinds() FindsPrior {
	return FindsPrior{Pooling: DefaultPooling(), SlopeSD: 0.5, Centre: 2}
}

// Finds is the answer of FitFinds.
type Finds struct {
	Hosts   []Rate   // at Centre, in the order given
	Slope   Interval // of the log-odds of a find on the log-odds of bottomland
	Rho     Interval
	RhoTold bool // some site has two trees and ρ was not held
	// Names, Mode and Cov are the Gaussian around the best point: "rate:" and
	// the key of each host with trees (logit at Centre), "kin:" and the kin
	// where it has two hosts (shift of log-odds), "slope", "logit-rho".
	Names      []string
	Mode       []float64
	Cov        *mat.SymDense
	LogPost    float64
	Iterations int
	How        string
}

const howFinds = "Rates and slope at the best point of a beta-binomial regression with priors and the Gaussian around it (Laplace); each host's rate on a grid, shared terms spread as that Gaussian."

// FitFinds fits rates per host and one slope on the log-odds of bottomland:
//
//	x ~ beta-binomial(n, p, ρ),  logit p = α_host + g·(logit B − Centre),
//	logistic(α_host − δ_kin) ~ the host's prior Beta,  δ ~ N(0, KinSD²),
//	g ~ N(SlopeMean, SlopeSD²),  ρ ~ Rho
//
// by the mode and the Gaussian around it (Laplace). A host's rate is then
// integrated on a grid for each of a few values of δ, g and ρ spread as the
// Gaussian has them, since few finds make a rate lopsided. Group.Sites of the
// hosts are not read. Hosts without rows keep their prior, moved by their kin.
func FitFinds(hosts []Group, rows []FindRow, how FindsPrior) (Finds, error) {
	if err := checkFinds(hosts, rows, how); err != nil {
		return Finds{}, err
	}
	r := newRegression(hosts, rows, how)
	out := Finds{How: howFinds, Names: r.names}
	beta := r.start()
	here := r.value(beta)
	free := make([]int8, len(beta))
	done := len(beta) == 0
	for out.Iterations = 0; !done && out.Iterations < mostSteps; out.Iterations++ {
		gradient, information := r.slope(beta)
		step, gain, err := uphill(gradient, information)
		if err != nil {
			return out, err
		}
		next, v, ok := climbTo(beta, step, here, r.value, free)
		if ok {
			beta, here = next, v
		}
		done = gain < leastGain || (!ok && gain < 1e-7*(1+math.Abs(here)))
		if !ok {
			break
		}
	}
	if !done {
		return out, errors.New("the regression of finds did not settle; give the overdispersion or the slope a narrower prior")
	}
	out.Mode, out.LogPost, out.Cov = beta, here, mat.NewSymDense(max(1, len(beta)), nil)
	if len(beta) > 0 {
		_, information := r.slope(beta)
		var c mat.Cholesky
		if !c.Factorize(information) {
			return out, errFlatGround
		}
		if err := c.InverseTo(out.Cov); err != nil && !isCondition(err) {
			return out, err
		}
	}
	out.Slope = r.normal(beta, out.Cov, r.slopeAt, how.Level, func(v float64) float64 { return v })
	out.Rho = r.normal(beta, out.Cov, r.rhoAt, how.Level, logistic)
	for _, s := range r.sites {
		out.RhoTold = out.RhoTold || (s.n > 1 && r.rhoAt >= 0)
	}
	for k := range hosts {
		out.Hosts = append(out.Hosts, r.rate(k, beta, out.Cov))
	}
	return out, nil
}

func checkFinds(hosts []Group, rows []FindRow, how FindsPrior) error {
	if !(how.SlopeSD >= 0 && how.SlopeSD <= 10) {
		return fmt.Errorf("the slope's sd is %g; give 0 to 10", how.SlopeSD)
	}
	if !(math.Abs(how.SlopeMean) <= 10) {
		return fmt.Errorf("the slope's mean is %g; give -10 to 10", how.SlopeMean)
	}
	if !(math.Abs(how.Centre) <= 20) {
		return fmt.Errorf("rates are told at log-odds of bottomland of %g; give -20 to 20", how.Centre)
	}
	bare := make([]Group, len(hosts))
	for k, h := range hosts {
		bare[k] = Group{Key: h.Key, Prior: h.Prior}
	}
	if err := checkGroups(bare, how.Pooling); err != nil {
		return err
	}
	for i, row := range rows {
		what := fmt.Sprintf("row %d", i+1)
		if row.Host < 0 || row.Host >= len(hosts) {
			return fmt.Errorf("%s: host %d of %d; count from 0", what, row.Host, len(hosts))
		}
		if err := (Count{row.X, row.N}).check(what); err != nil {
			return err
		}
		if !(math.Abs(row.LogitB) <= 50) {
			return fmt.Errorf("%s: log-odds of bottomland %g; leave out rows off the map", what, row.LogitB)
		}
	}
	return nil
}

// uphill is a Newton step where the curvature may point the wrong way: the
// diagonal grows until it does not (Levenberg; Nocedal and Wright 2006, ch. 3,
// from memory).
func uphill(gradient []float64, information *mat.SymDense) (step []float64, gain float64, err error) {
	none := make([]bool, len(gradient))
	for extra := 0.0; extra < 1e9; extra = max(1e-3, extra*10) {
		m := mat.NewSymDense(len(gradient), nil)
		m.CopySym(information)
		for j := range gradient {
			m.SetSym(j, j, m.At(j, j)+extra*(1+math.Abs(m.At(j, j))))
		}
		if step, gain, err = newtonStep(gradient, m, none); err == nil {
			return step, gain, nil
		}
	}
	return nil, 0, err
}

// normal is the interval of parameter j, told through a rising function.
func (r *regression) normal(beta []float64, cov mat.Symmetric, j int, level float64, told func(float64) float64) Interval {
	if j < 0 {
		return Interval{}
	}
	mean, sd := beta[j], math.Sqrt(cov.At(j, j))
	z := distuv.UnitNormal.Quantile((1 + level) / 2)
	var sum, all float64
	for s := -6.0; s <= 6; s += 0.125 {
		w := math.Exp(-s * s / 2)
		sum, all = sum+w*told(mean+s*sd), all+w
	}
	return Interval{Mean: sum / all, Low: told(mean - z*sd), High: told(mean + z*sd)}
}
