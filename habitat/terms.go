package habitat

import (
	"math"

	"rillwood/habitat/evidence"
)

// Terms is what a run knows of one cell: the terms of the bottomland model as
// it saw them, and what it made of them. Values that the run's layers do not
// hold are NaN.
type Terms struct {
	LnR           float64 // mean over the sizes of drainage of ln r, r the height above the stream in bankfull depths
	LnSmall       float64 // ln r above streams of any size
	LnSlope       float64 // ln(1 + slope in percent)
	Km            float64 // to the stream that heights are measured from, in a straight line
	Flatness      float64 // multiresolution valley bottom flatness; NaN in a run that did not ask for it
	Shift         float64 // log-odds that layers of evidence add, before the certainty rule; 0 in a run without such layers
	Logit         float64 // log-odds of bottomland by the run's own weights, all terms counted
	B             float64 // chance of bottomland, 0 to 1, as the run wrote it, or from Logit where that layer is missing
	Suitability   float64 // 0 to 1
	ExpectedFinds float64 // per hectare in season
	Confidence    int     // 0 no stream known, 1 down the water's way, 2 from the nearest stream across the land; −1 not told
	Cell          int     // row-major index in Run.Frame, −1 outside
	OK            bool    // every term of the model is known
	Why           string  // one clause, when it is not OK
}

// noTerms is a place of which nothing is known.
func noTerms(cell int, why string) Terms {
	nan := math.NaN()
	return Terms{LnR: nan, LnSmall: nan, LnSlope: nan, Km: nan, Flatness: nan, Shift: nan, Logit: nan, B: nan,
		Suitability: nan, ExpectedFinds: nan, Confidence: -1, Cell: cell, Why: why}
}

// vector gives the terms in the order of WeightNames.
func (t *Terms) vector() termVector { return termVector{1, t.LnR, t.LnSmall, t.LnSlope, t.Km} }

// termsLogit is the log-odds of bottomland the model gives terms, as the run
// works them out: flatness where it is known, then the layers of evidence.
func (b *Bottomland) termsLogit(t *Terms) float64 {
	flat := !math.IsNaN(t.Flatness)
	logit := 0.0
	x := t.vector()
	for i, w := range b.weights(flat) {
		logit += w.Value * x[i]
	}
	if flat {
		logit += b.Flatness.Term(t.Flatness)
	}
	if t.Shift != 0 && !math.IsNaN(t.Shift) && b.Evidence != (evidence.Rule{}) {
		logit = b.Evidence.Apply(logit, t.Shift)
	}
	return logit
}
