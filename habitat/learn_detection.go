package habitat

import (
	"fmt"
	"math"

	"rillwood/habitat/learn"
)

// fewRevisits is how many places must have been visited again before that
// tells how surely a find is seen; common practice, no source.
const fewRevisits = 5

// Detection is how surely a find is noticed at one visit, from places that
// were visited more than once in a season.
type Detection struct {
	Places int        `json:"places"`   // trees of one host at one place in one season
	Again  int        `json:"again"`    // of them visited more than once
	Chance [3]float64 `json:"chance"`   // that one visit sees what is there: mean, low, high
	Having [3]float64 `json:"occupied"` // share of the places that have any
	fit    learn.Detection
}

// Text tells it in a sentence.
func (d *Detection) Text() string {
	return fmt.Sprintf("%d of %d places were visited more than once in a season: one visit sees what is there with a chance of %s, and looking again at the same trees counts for less than looking at others.",
		d.Again, d.Places, percents(d.Chance))
}

// detection learns how surely a visit sees what is there (MacKenzie and others
// 2002); nil where too few places were visited again to tell.
func detection(d *fieldData) (*Detection, error) {
	var hist [][]int8
	out := &Detection{}
	for _, r := range d.rows {
		hist = append(hist, r.visits)
		out.Places++
		if len(r.visits) > 1 {
			out.Again++
		}
	}
	if out.Again < fewRevisits {
		return nil, nil
	}
	var err error
	if out.fit, err = learn.DetectionFrom(hist); err != nil {
		return nil, fmt.Errorf("learning how surely finds are seen: %w", err)
	}
	out.Chance = [3]float64{out.fit.P.Mean, out.fit.P.Low, out.fit.P.High}
	out.Having = [3]float64{out.fit.Psi.Mean, out.fit.Psi.Low, out.fit.Psi.High}
	return out, nil
}

// effort is how many looked-at trees a row counts for: those of a place
// visited v times count as Effort(v) single looks each, never fewer than
// carried finds.
func (d *Detection) effort(r *fieldRow) int {
	if d == nil || len(r.visits) < 2 {
		return r.inspected
	}
	return max(r.found, int(math.Round(float64(r.inspected)*d.fit.Effort(len(r.visits)))))
}
