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
	Intercept      Weight    `yaml:"intercept" json:"intercept"`
	SizesKm2       []float64 `yaml:"sizes_km2,flow" json:"sizes_km2"`
	WeightR        Weight    `yaml:"weight_r" json:"weight_r"`
	WeightSmall    Weight    `yaml:"weight_small" json:"weight_small"`
	WeightSlope    Weight    `yaml:"weight_slope" json:"weight_slope"`
	WeightDistance Weight    `yaml:"weight_distance" json:"weight_distance"` // per kilometre
	RFloor         float64   `yaml:"r_floor" json:"r_floor"`
	RCeiling       float64   `yaml:"r_ceiling" json:"r_ceiling"`
	HeightErrorM   float64   `yaml:"height_error_m" json:"height_error_m"` // elevation error; r is not believed below height_error_m / depth
	// Valley flatness, where a survey asks for it: WeightFlatness for each whole
	// step above FlatnessCentre, steps above FlatnessMost counting no more.
	WeightFlatness Weight        `yaml:"weight_flatness,omitempty" json:"weight_flatness"`
	FlatnessCentre float64       `yaml:"flatness_centre,omitempty" json:"flatness_centre"`
	FlatnessMost   float64       `yaml:"flatness_most,omitempty" json:"flatness_most"`
	Evidence       evidence.Rule `yaml:"evidence,omitempty" json:"evidence"` // how layers of evidence add up
	Source         string        `yaml:"source" json:"source"`
}

// FlatnessTerm is what a valley flatness adds to the log-odds; nothing where
// it is not known.
func (b *Bottomland) FlatnessTerm(flatness float64) float64 {
	if flatness != flatness {
		return 0
	}
	return b.WeightFlatness.Value * (min(flatness, b.FlatnessMost) - b.FlatnessCentre)
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
	if err := b.checkFlatness(path); err != nil {
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

// checkFlatness lets a profile without the flatness term pass: a survey that
// asks for the term is then refused.
func (b *Bottomland) checkFlatness(path string) error {
	if !b.hasFlatness() {
		return nil
	}
	if b.WeightFlatness.Value < 0 {
		return wrong(path+".weight_flatness", "%g is below zero, so that flatter valley ground would count as less of a bottom; give zero or more", b.WeightFlatness.Value)
	}
	if err := b.WeightFlatness.check(path+".weight_flatness", 0, 50); err != nil {
		return err
	}
	if err := within(path+".flatness_most", b.FlatnessMost, 0.5, 10, ""); err != nil {
		return err
	}
	return within(path+".flatness_centre", b.FlatnessCentre, 0, b.FlatnessMost, "")
}

func (b *Bottomland) hasFlatness() bool {
	return b.WeightFlatness != Weight{} || b.FlatnessCentre != 0 || b.FlatnessMost != 0
}

func (w Weight) check(path string, lo, hi float64) error {
	if err := within(path+".value", w.Value, lo, hi, ""); err != nil {
		return err
	}
	return within(path+".sd", w.SD, 1e-3, 50, "")
}
