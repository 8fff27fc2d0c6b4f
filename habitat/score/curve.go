package score

import (
	"fmt"
	"html"
	"strings"
)

// Sizes of the calibration curve, in the units of the drawing.
const (
	curveSide   = 420.0
	curveMargin = 56.0
)

// Curve draws what the last map that is not naive said of unseen blocks against what
// came of it, as SVG 1.1: a point for each bin of the calibration table with
// its Wilson interval, its area by the number of looks, and the line on which
// a map that is right would lie. ok is false where there is no bin to draw.
func (r *Report) Curve() (svg []byte, ok bool) {
	var of *Scored
	for i := range r.Maps {
		if !r.Maps[i].Naive {
			of = &r.Maps[i]
		}
	}
	if of == nil || len(of.Blocked.Bins) == 0 {
		return nil, false
	}
	bins := of.Blocked.Bins
	top, most := 0.05, 0.0
	for _, b := range bins {
		top, most = max(top, b.Said, b.High), max(most, b.Of)
	}
	top = min(1, 1.05*top)
	at := func(said, seen float64) (x, y float64) {
		return curveMargin + said/top*curveSide, curveMargin/2 + (1-seen/top)*curveSide
	}
	var s strings.Builder
	w, h := curveSide+1.5*curveMargin, curveSide+1.7*curveMargin
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" width="%.0f" height="%.0f" viewBox="0 0 %.0f %.0f" font-family="sans-serif" font-size="13">`+"\n", w, h, w, h)
	title := html.EscapeString(fmt.Sprintf("Calibration of %s: %s", of.Name, r.What))
	fmt.Fprintf(&s, `<title>%s</title>`+"\n"+`<rect width="%.0f" height="%.0f" fill="white"/>`+"\n", title, w, h)
	x0, y0 := at(0, 0)
	x1, y1 := at(top, top)
	fmt.Fprintf(&s, `<path d="M%.1f %.1f V%.1f H%.1f" fill="none" stroke="#333"/>`+"\n", x0, y1, y0, x1)
	fmt.Fprintf(&s, `<path d="M%.1f %.1f L%.1f %.1f" stroke="#888" stroke-dasharray="6 4"/>`+"\n", x0, y0, x1, y1)
	for k := range 6 {
		v := top * float64(k) / 5
		x, y := at(v, v)
		fmt.Fprintf(&s, `<text x="%.1f" y="%.1f" text-anchor="middle">%.2g</text><text x="%.1f" y="%.1f" text-anchor="end">%.2g</text>`+"\n", x, y0+18, v, x0-6, y+4, v)
	}
	for _, b := range bins {
		x, y := at(b.Said, b.Seen)
		_, low := at(b.Said, b.Low)
		_, high := at(b.Said, b.High)
		fmt.Fprintf(&s, `<path d="M%.1f %.1f V%.1f" stroke="#08519c" stroke-width="2"/><circle cx="%.1f" cy="%.1f" r="%.1f" fill="#08519c"/>`+"\n", x, low, high, x, y, 3+4*b.Of/max(most, 1))
	}
	fmt.Fprintf(&s, `<text x="%.1f" y="%.1f" text-anchor="middle">said by the map</text>`+"\n", (x0+x1)/2, y0+40)
	fmt.Fprintf(&s, `<text transform="translate(14 %.1f) rotate(-90)" text-anchor="middle">seen on the ground</text>`+"\n</svg>\n", (y0+y1)/2)
	return []byte(s.String()), true
}
