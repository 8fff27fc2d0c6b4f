package habitat

import (
	"math"

	"rillwood/habitat/evidence"
	"rillwood/raster/terrain"
)

// Bottomland holds the weights of the bottomland model, a logistic sum that
// can be read aloud and fitted again:
//
//	logit B = intercept
//	        + weight_r        · mean over sizes_km2 of ln max(r, r_floor)
//	        + weight_small    · ln max(r, r_floor) over all mapped streams
//	        + weight_slope    · ln(1 + slope in percent)
//	        + weight_distance · kilometres in a straight line to the stream of the smallest size reached
//
// where r is height over the stream divided by its bankfull depth. Weights
// are at most zero, so that higher, steeper or farther never raises B.
type Bottomland struct {
	Intercept      Weight        `yaml:"intercept" json:"intercept"`
	SizesKm2       []float64     `yaml:"sizes_km2,flow" json:"sizes_km2"`
	WeightR        Weight        `yaml:"weight_r" json:"weight_r"`
	WeightSmall    Weight        `yaml:"weight_small" json:"weight_small"`
	WeightSlope    Weight        `yaml:"weight_slope" json:"weight_slope"`
	WeightDistance Weight        `yaml:"weight_distance" json:"weight_distance"` // per kilometre
	RFloor         float64       `yaml:"r_floor" json:"r_floor"`
	RCeiling       float64       `yaml:"r_ceiling" json:"r_ceiling"`
	HeightErrorM   float64       `yaml:"height_error_m" json:"height_error_m"` // elevation error; r is not believed below height_error_m / depth
	Flatness       FlatnessTerms `yaml:"flatness,omitempty" json:"flatness"`
	Evidence       evidence.Rule `yaml:"evidence,omitempty" json:"evidence"` // how layers of evidence add up
	Source         string        `yaml:"source" json:"source"`
}

// FlatnessTerms are the weights of a survey that asks for valley flatness.
// Flatness and slope tell much the same, so that the slope weighs less beside
// it, and the intercept is its own.
type FlatnessTerms struct {
	Intercept   Weight  `yaml:"intercept" json:"intercept"`       // in place of Bottomland.Intercept
	WeightSlope Weight  `yaml:"weight_slope" json:"weight_slope"` // in place of Bottomland.WeightSlope
	Weight      Weight  `yaml:"weight" json:"weight"`             // per step of the index (terrain.StoredFlatness)
	Least       float64 `yaml:"least" json:"least"`               // between which the index is held
	Most        float64 `yaml:"most" json:"most"`
}

// Term is what a valley flatness adds to the log-odds.
func (f *FlatnessTerms) Term(flatness float64) float64 {
	return f.Weight.Value * min(max(flatness, f.Least), f.Most)
}

// Weight is a coefficient and how sure one is of it beforehand.
type Weight struct {
	Value  float64 `yaml:"value" json:"value"`
	SD     float64 `yaml:"sd" json:"sd"` // standard deviation of the prior
	Source string  `yaml:"source,omitempty" json:"source,omitempty"`
}

// ratio is r held between floor and ceiling. depthM is the bankfull depth;
// heights below nothing count as nothing. NaN in gives NaN out.
func (b *Bottomland) ratio(heightM, depthM float64) float64 {
	floor := max(b.RFloor, b.HeightErrorM/depthM)
	return min(max(heightM/depthM, floor), max(b.RCeiling, floor))
}

// LnR is ln r, r held between floor and ceiling.
func (b *Bottomland) LnR(heightM, depthM float64) float64 { return math.Log(b.ratio(heightM, depthM)) }

// Logit is the log-odds of bottomland. meanLnR is the mean of ln r over the
// sizes, lnRSmall that over all mapped streams, slopePct the slope in percent and distM
// the distance in metres.
func (b *Bottomland) Logit(meanLnR, lnRSmall, slopePct, distM float64) float64 {
	return b.Intercept.Value +
		b.WeightR.Value*meanLnR +
		b.WeightSmall.Value*lnRSmall +
		b.WeightSlope.Value*math.Log1p(max(0, slopePct)) +
		b.WeightDistance.Value*max(0, distM)/1000
}

// Logistic is the probability of given log-odds.
func Logistic(logit float64) float64 { return 1 / (1 + math.Exp(-logit)) }

func (b *Bottomland) check(path string) error {
	if len(b.SizesKm2) == 0 {
		return wrong(path+".sizes_km2", "missing; list the drainage sizes in km², such as [2, 10, 50]")
	}
	if most := terrain.MaxSizes - 1; len(b.SizesKm2) > most { // one is kept for streams of any size
		return wrong(path+".sizes_km2", "%d sizes, more than the %d allowed", len(b.SizesKm2), most)
	}
	for i, s := range b.SizesKm2 {
		if err := within(path+".sizes_km2", s, 0.01, 1e6, "km²"); err != nil {
			return err
		}
		if i > 0 && s <= b.SizesKm2[i-1] {
			return wrong(path+".sizes_km2", "sizes must rise, found %g after %g", s, b.SizesKm2[i-1])
		}
	}
	if err := b.Intercept.check(path+".intercept", -50, 50); err != nil {
		return err
	}
	for _, w := range []struct {
		key string
		w   Weight
	}{
		{"weight_r", b.WeightR}, {"weight_small", b.WeightSmall}, {"weight_slope", b.WeightSlope}, {"weight_distance", b.WeightDistance},
	} {
		if w.w.Value > 0 {
			return wrong(path+"."+w.key, "%g is above zero, so that higher or steeper ground would count as more of a bottom; give zero or less", w.w.Value)
		}
		if err := w.w.check(path+"."+w.key, -50, 0); err != nil {
			return err
		}
	}
	if err := within(path+".r_floor", b.RFloor, 1e-3, 10, ""); err != nil {
		return err
	}
	if err := within(path+".r_ceiling", b.RCeiling, b.RFloor, 1e4, ""); err != nil {
		return err
	}
	if err := b.Flatness.check(path + ".flatness"); err != nil {
		return err
	}
	if b.Evidence != (evidence.Rule{}) {
		for _, v := range []struct {
			key    string
			v, top float64
		}{{"temper", b.Evidence.Temper, 0.99}, {"cap", b.Evidence.Cap, 7}, {"certainty", b.Evidence.Certainty, 20}} {
			if err := within(path+".evidence."+v.key, v.v, 0, v.top, ""); err != nil {
				return err
			}
		}
	}
	return within(path+".height_error_m", b.HeightErrorM, 0, 20, "metres")
}

// given tells whether a profile has the terms: without them, a survey that
// asks for valley flatness is refused.
func (f *FlatnessTerms) given() bool { return *f != FlatnessTerms{} }

func (f *FlatnessTerms) check(path string) error {
	if !f.given() {
		return nil
	}
	if f.Weight.Value < 0 {
		return wrong(path+".weight", "%g is below zero, so that flatter valley ground would count as less of a bottom; give zero or more", f.Weight.Value)
	}
	if f.WeightSlope.Value > 0 {
		return wrong(path+".weight_slope", "%g is above zero, so that steeper ground would count as more of a bottom; give zero or less", f.WeightSlope.Value)
	}
	if err := f.Intercept.check(path+".intercept", -50, 50); err != nil {
		return err
	}
	if err := f.WeightSlope.check(path+".weight_slope", -50, 0); err != nil {
		return err
	}
	if err := f.Weight.check(path+".weight", 0, 50); err != nil {
		return err
	}
	if err := within(path+".least", f.Least, 0, 10, ""); err != nil {
		return err
	}
	return within(path+".most", f.Most, f.Least, 10, "")
}

func (w Weight) check(path string, lo, hi float64) error {
	if err := within(path+".value", w.Value, lo, hi, ""); err != nil {
		return err
	}
	return within(path+".sd", w.SD, 1e-3, 50, "")
}
