package habitat

import (
	"math"
	"testing"
)

// Whatever form of the model is fitted, the log-odds of the other move alike
// at every cell, as long as no sign is held.
func TestTheOtherFormFollows(t *testing.T) {
	for _, fitted := range []bool{false, true} {
		p := builtin(t)
		b := &p.Bottomland
		before := [2][numTerms]Weight{b.weights(false), b.weights(true)}
		intercept, slope := &b.Intercept, &b.WeightSlope
		if fitted {
			intercept, slope = &b.Flatness.Intercept, &b.Flatness.WeightSlope
		}
		intercept.Value += 2.25
		slope.Value -= 0.125
		b.WeightR.Value -= 0.5
		b.WeightDistance.Value += 0.25
		old := before[0]
		if fitted {
			old = before[1]
		}
		b.follow(old, fitted)
		x := termVector{1, -0.7, 0.3, 1.4, 0.6}
		var moved [2]float64
		for form, flat := range []bool{false, true} {
			for i, w := range b.weights(flat) {
				moved[form] += (w.Value - before[form][i].Value) * x[i]
			}
		}
		if math.Abs(moved[0]-moved[1]) > 1e-5 || math.Abs(moved[0]) < 1 {
			t.Errorf("fitted with flatness %v: the forms move by %.6f and %.6f", fitted, moved[0], moved[1])
		}
		if err := p.Validate(); err != nil {
			t.Error(err)
		}
	}
}
