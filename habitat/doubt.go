package habitat

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/mat"
)

// Posterior is what learning left of the doubt in the weights of bottomland:
// their covariance, in the order of Weights (names as in the profile). A
// profile without one has the standard deviations beside its weights, each on
// its own.
type Posterior struct {
	Weights    []string    `yaml:"weights,flow" json:"weights"`
	Covariance [][]float64 `yaml:"covariance" json:"covariance"`
	Records    int         `yaml:"records" json:"records"`
	Flatness   bool        `yaml:"flatness,omitempty" json:"flatness,omitempty"` // whether they are the weights of surveys with valley flatness
	Until      string      `yaml:"until,omitempty" json:"until,omitempty"`       // day of the last record in it: earlier ones are not learned twice
	Seen       string      `yaml:"seen,omitempty" json:"seen,omitempty"`         // the records in it, each the first digits of its id; empty: all up to Until
	Source     string      `yaml:"source,omitempty" json:"source,omitempty"`
}

// WeightNames are the weights of bottomland that are learned, in the order of
// Terms: the names of the profile's keys.
func WeightNames() []string {
	return []string{"intercept", "weight_r", "weight_small", "weight_slope", "weight_distance"}
}

// terms of the bottomland model at a cell: 1, mean ln r over the sizes, ln r
// above any stream, ln(1 + slope in percent), kilometres to the stream.
const numTerms = 5

type termVector [numTerms]float64

// weights gives the weights that go with the terms, and their standard
// deviations; with flatness, those of a survey that asks for valley flatness.
func (b *Bottomland) weights(flatness bool) (w [numTerms]Weight) {
	w = [numTerms]Weight{b.Intercept, b.WeightR, b.WeightSmall, b.WeightSlope, b.WeightDistance}
	if flatness {
		w[0], w[3] = b.Flatness.Intercept, b.Flatness.WeightSlope
	}
	return w
}

// weightCovariance is the covariance of the weights.
func (p *Profile) weightCovariance(flatness bool) *mat.SymDense {
	c := mat.NewSymDense(numTerms, nil)
	for i, w := range p.Bottomland.weights(flatness) {
		c.SetSym(i, i, w.SD*w.SD)
	}
	if p.Posterior == nil || p.Posterior.Flatness != flatness {
		return c // what was learned with valley flatness holds for such surveys only
	}
	for i := range p.Posterior.Covariance {
		for k := range i + 1 {
			c.SetSym(p.Posterior.place(i), p.Posterior.place(k), p.Posterior.Covariance[i][k])
		}
	}
	return c
}

// place is where the i-th weight of the posterior stands among WeightNames.
func (p *Posterior) place(i int) int {
	for k, n := range WeightNames() {
		if n == p.Weights[i] {
			return k
		}
	}
	return 0 // the profile was checked
}

func (p *Posterior) check(path string) error {
	if p == nil {
		return nil
	}
	n := len(p.Weights)
	if n == 0 || n > numTerms {
		return wrong(path+".weights", "expected 1 to %d names, found %d", numTerms, n)
	}
	seen := map[string]bool{}
	for _, w := range p.Weights {
		if err := oneOf(path+".weights", w, WeightNames()...); err != nil {
			return err
		}
		if seen[w] {
			return wrong(path+".weights", "%s is listed twice", w)
		}
		seen[w] = true
	}
	if len(p.Covariance) != n {
		return wrong(path+".covariance", "expected %d rows, one for each weight, found %d", n, len(p.Covariance))
	}
	c := mat.NewSymDense(n, nil)
	for i, row := range p.Covariance {
		if len(row) != n {
			return wrong(fmt.Sprintf("%s.covariance[%d]", path, i), "expected %d numbers, found %d", n, len(row))
		}
		for k, v := range row {
			if math.Abs(v) > 2500 || math.Abs(v-p.Covariance[k][i]) > 1e-9*(1+math.Abs(v)) {
				return wrong(fmt.Sprintf("%s.covariance[%d]", path, i), "%g is too large, or not the same in row and column", v)
			}
			if k >= i {
				c.SetSym(i, k, v)
			}
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		return wrong(path+".covariance", "is no covariance: it is not positive definite")
	}
	if _, err := time.Parse(time.DateOnly, p.Until); p.Until != "" && err != nil {
		return wrong(path+".until", "expected a day such as 2026-02-14, found %q", oneLine(p.Until))
	}
	if err := checkSeen(path+".seen", p.Seen); err != nil {
		return err
	}
	if p.Records < 0 {
		return wrong(path+".records", "%d records", p.Records)
	}
	return nil
}

// follow moves intercept and slope weight of the other form of the model (with
// valley flatness, or without) as far as those of the fitted form have moved
// from old: height and distance weigh in both, so that a form left behind
// would be out of tune with them.
func (b *Bottomland) follow(old [numTerms]Weight, fitted bool) {
	if !b.Flatness.given() {
		return
	}
	now := b.weights(fitted)
	intercept, slope := &b.Flatness.Intercept, &b.Flatness.WeightSlope
	if fitted {
		intercept, slope = &b.Intercept, &b.WeightSlope
	}
	intercept.Value = round(min(max(intercept.Value+now[0].Value-old[0].Value, -50), 50), 6)
	slope.Value = round(min(max(slope.Value+now[3].Value-old[3].Value, -50), 0), 6)
}

// quadratic is tᵀ C t: the variance of the log-odds at a cell.
func quadratic(c *mat.SymDense, t termVector) float64 {
	sum := 0.0
	for i := range numTerms {
		sum += t[i] * t[i] * c.At(i, i)
		for k := range i {
			sum += 2 * t[i] * t[k] * c.At(i, k)
		}
	}
	return sum
}
