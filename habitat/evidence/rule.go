package evidence

import (
	"fmt"
	"math"
	"slices"
)

// Rule says how shifts are weighed together; see the package's own words.
type Rule struct {
	// Temper is the weight of each further witness to the same side, as a share
	// of the one before: 0 hears only the strongest, 1 hears all in full.
	Temper float64 `yaml:"temper" json:"temper"`
	// Cap is the most all layers together may shift, in log-odds.
	Cap float64 `yaml:"cap" json:"cap"`
	// Certainty is the log-odds beyond which layers cannot carry the terrain's word.
	Certainty float64 `yaml:"certainty" json:"certainty"`
}

// DefaultRule is where a survey starts: three layers that agree are worth less
// than twice the best of them, and maps alone reach odds of twenty to one.
// Common practice, no source.
func DefaultRule() Rule { return Rule{Temper: 0.5, Cap: 3, Certainty: 3} }

// maxCertainty is log-odds no one can tell from certain.
const maxCertainty = 20

// Check holds the figures against their ranges.
func (r Rule) Check() error {
	for _, c := range [...]struct {
		name     string
		v, limit float64
	}{{"temper", r.Temper, 1}, {"cap", r.Cap, MaxShift}, {"certainty", r.Certainty, maxCertainty}} {
		if !(c.v >= 0 && c.v <= c.limit) {
			return fmt.Errorf("%s: found %g; want a number from 0 to %g", c.name, c.v, c.limit)
		}
	}
	return nil
}

// Combine makes one shift of several (log-odds, any order). Those of each sign
// are sorted by size and weighted 1, t, t², …; the two sums are added and held
// within ±Cap. Nothing, and zeros, give 0. shifts is not changed.
func (r Rule) Combine(shifts []float64) float64 {
	var room [16]float64
	sorted := append(room[:0], shifts...)
	slices.Sort(sorted)
	sum := r.side(sorted, false) + r.side(sorted, true)
	return max(-r.Cap, min(r.Cap, sum))
}

// side sums the shifts below 0 (up false) or above 0 of a rising list, from the
// largest in size down.
func (r Rule) side(sorted []float64, up bool) float64 {
	sum, weight := 0.0, 1.0
	for i := range sorted {
		v := sorted[i]
		if up {
			v = sorted[len(sorted)-1-i]
		}
		if up && !(v > 0) || !up && !(v < 0) {
			break
		}
		// Rounded before it is added: machines that multiply and add at once
		// would give other bits.
		sum += float64(weight * v)
		weight *= r.Temper
	}
	return sum
}

// Apply adds a shift to what the terrain says (both log-odds). A shift that
// agrees carries the outcome no further than ±Certainty, and leaves terrain that
// goes further as it is; one that disagrees counts whole, up to Certainty on its
// own side. No shift leaves logit exactly as it is; NaN stays NaN.
func (r Rule) Apply(logit, shift float64) float64 {
	switch {
	case shift > 0:
		return min(logit+shift, max(logit, r.Certainty))
	case shift < 0:
		return max(logit+shift, min(logit, -r.Certainty))
	}
	return logit
}

// ShiftUnit is how many steps of a shift plane make one log-odds.
const ShiftUnit = 16

// MaxShift is the largest shift a plane can hold, in log-odds.
const MaxShift = 7.9

// steps rounds a shift to the plane's steps, halves away from zero, never past Cap.
func (r Rule) steps(shift float64) int8 {
	limit := math.Floor(min(r.Cap, MaxShift) * ShiftUnit)
	return int8(max(-limit, min(limit, math.Round(shift*ShiftUnit))))
}
