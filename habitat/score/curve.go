package score

import (
	"fmt"
	"html/template"

	"rillwood/habitat/chart"
)

// Plot draws what the last map that is not naive said of unseen blocks against what
// came of it, for a page: a point for each bin of the calibration table with
// its Wilson interval. ok is false where there is no bin to draw.
func (r *Report) Plot() (svg template.HTML, ok bool) {
	var of *Scored
	for i := range r.Maps {
		if !r.Maps[i].Naive {
			of = &r.Maps[i]
		}
	}
	if of == nil || len(of.Blocked.Bins) == 0 {
		return "", false
	}
	bins := make([]chart.Bin, len(of.Blocked.Bins))
	for i, b := range of.Blocked.Bins {
		bins[i] = chart.Bin{Said: b.Said, Seen: b.Seen, Low: b.Low, High: b.High, Found: b.Found, Of: b.Of}
	}
	return chart.Calibration(fmt.Sprintf("Calibration of %s: %s", of.Name, r.What), bins, coverage), true
}

// Curve is Plot as a file of its own, SVG 1.1.
func (r *Report) Curve() (svg []byte, ok bool) {
	figure, ok := r.Plot()
	if !ok {
		return nil, false
	}
	return chart.Alone(figure), true
}
