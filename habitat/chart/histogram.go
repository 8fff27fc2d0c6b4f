package chart

import (
	"fmt"
	"html/template"
	"math"
	"slices"

	"rillwood/habitat/results"
)

// Histogram draws how many hectares have which suitability, on a scale that
// keeps small bars visible beside large ones (square root), the ground from
// the threshold on filled, a dashed line where it begins. Hectares below 0 or
// not known are drawn as none; a threshold that is not from 0 to 1 is not drawn.
func Histogram(bins []results.Bin, threshold float64) template.HTML {
	const left, top, high, bottom = 56.0, 44.0, 190.0, 44.0
	const wide = width - left - 16
	c := &canvas{w: width, h: top + high + bottom}
	most, all, above := 0.0, 0.0, 0.0
	bins = slices.Clone(bins)
	numbers := table{heads: []string{"Suitability", "Hectares"}}
	for i, b := range bins {
		if !known(b.Ha) || b.Ha < 0 {
			bins[i].Ha = math.NaN()
		} else {
			most, all = max(most, b.Ha), all+b.Ha
			if b.From >= threshold-1e-9 {
				above += b.Ha
			}
		}
		numbers.rows = append(numbers.rows, []string{fmt.Sprintf("%.2g to %.2g", b.From, b.To), number(bins[i].Ha)})
	}
	ticks := steps(most)
	end := ticks[len(ticks)-1]
	unit, of := "hectares", 1.0
	if end >= 10_000 {
		unit, of = "thousand hectares", 1000
	}
	y := func(ha float64) float64 {
		if math.IsNaN(ha) {
			ha = 0
		}
		return top + high*(1-math.Sqrt(ha/end))
	}
	for i, t := range ticks {
		c.line(left, y(t), left+wide, y(t), rule, "1", "")
		if i != 1 || y(0)-y(t) >= small { // the root leaves the lower ones room enough, but for very many
			c.text(left-8, y(t)+4, "end", small, faint, number(t/of))
		}
	}
	for _, b := range bins {
		fill := `fill="none" stroke="` + faint + `" stroke-width="1.5"`
		if b.From >= threshold-1e-9 {
			fill = `fill="` + now + `"`
		}
		x0, x1 := left+b.From*wide, left+b.To*wide
		c.add(`<rect class="bar" x="%s" y="%s" width="%s" height="%s" %s><title>%s</title></rect>`, at(x0+1), at(y(b.Ha)), at(x1-x0-2), at(top+high-y(b.Ha)), fill,
			fmt.Sprintf("%.2g to %.2g: %s ha", b.From, b.To, number(b.Ha)))
	}
	for i := range 6 {
		v := float64(i) / 5
		c.text(left+v*wide, top+high+18, "middle", small, faint, number(v))
	}
	desc := fmt.Sprintf("%s hectares are mapped; the threshold is not known", number(all))
	if threshold >= 0 && threshold <= 1 {
		mark(c, left+threshold*wide, top, top+high, threshold)
		desc = fmt.Sprintf("Of %s hectares mapped, %s lie at or above the threshold of %.2g", number(all), number(above), threshold)
	}
	c.text(left+wide/2, c.h-6, "middle", large, ink, "suitability")
	c.text(6, 14, "start", small, faint, unit)
	return c.figure("histogram", "Ground by suitability", desc, numbers)
}

// mark draws the line where ground begins to be taken, its words to the side
// that has room.
func mark(c *canvas, x, top, foot, threshold float64) {
	c.line(x, top-16, x, foot, ink, "1.5", ` stroke-dasharray="5 3"`)
	side, anchor := -5.0, "end"
	if threshold < 0.5 {
		side, anchor = 5, "start"
	}
	c.text(x+side, top-8, anchor, small, ink, fmt.Sprintf("threshold %.2g", threshold))
}
