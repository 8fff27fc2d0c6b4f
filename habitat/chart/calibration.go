package chart

import (
	"fmt"
	"html/template"
	"math"
)

// Bin is looks for which a map said nearly the same chance, and how often it
// came true, with the bounds between which the true share lies.
type Bin struct {
	Said, Seen, Low, High float64 // 0 to 1
	Found, Of             float64 // how many came true, of how many looks
}

// Calibration draws what a map said against what was seen: a point for each
// bin with its interval, its area by the number of looks, and the dashed line
// on which a map that is right would lie. coverage is that of the intervals,
// 0 to 1. Bins whose figures are not known are left out of the drawing.
func Calibration(title string, bins []Bin, coverage float64) template.HTML {
	const left, top, bottom = 68.0, 12.0, 46.0
	const side = width - left - 24
	c := &canvas{w: width, h: top + side + bottom}
	end, most, looks, right := 0.05, 0.0, 0.0, 0
	drawn := bins[:0:0]
	numbers := table{heads: []string{"Said", "Seen", "From", "To", "Came true", "Looks"}}
	for _, b := range bins {
		numbers.rows = append(numbers.rows, []string{percent(b.Said), percent(b.Seen), percent(b.Low), percent(b.High), number(b.Found), number(b.Of)})
		if !known(b.Said+b.Seen+b.Low+b.High) || !known(b.Of) {
			continue
		}
		drawn = append(drawn, b)
		end, most, looks = max(end, b.Said, b.High), max(most, b.Of), looks+b.Of
		if b.Low <= b.Said && b.Said <= b.High {
			right++
		}
	}
	end = min(1, 1.05*end)
	x := func(v float64) float64 { return left + v/end*side }
	y := func(v float64) float64 { return top + (1-v/end)*side }
	for _, v := range between(0, end) {
		c.line(x(v), y(0), x(v), y(end), rule, "1", "")
		c.line(x(0), y(v), x(end), y(v), rule, "1", "")
		c.text(x(v), y(0)+18, "middle", small, faint, percent(v))
		c.text(left-8, y(v)+4, "end", small, faint, percent(v))
	}
	c.line(x(0), y(0), x(end), y(end), ink, "1.5", ` stroke-dasharray="6 4"`)
	for _, b := range drawn {
		c.add(`<path class="now" d="M%s %sV%s" stroke="%s" stroke-width="3" fill="none"/>`, at(x(b.Said)), at(y(b.Low)), at(y(b.High)), now)
		c.add(`<circle class="now" cx="%s" cy="%s" r="%s" fill="%s"><title>%s</title></circle>`, at(x(b.Said)), at(y(b.Seen)), at(3+4*math.Sqrt(max(b.Of, 0)/max(most, 1))), now,
			escaped(fmt.Sprintf("said %s, seen %s: %s of %s", percent(b.Said), percent(b.Seen), number(b.Found), number(b.Of))))
	}
	c.text(left+side/2, c.h-6, "middle", large, ink, "said by the map")
	c.add(`<text transform="translate(14 %s) rotate(-90)" text-anchor="middle" font-size="%s" fill="%s">seen on the ground</text>`, at(top+side/2), at(large), ink)
	desc := "No bin to draw"
	if len(drawn) > 0 {
		desc = fmt.Sprintf("%s looks in %d points, the larger the more looks. Bars hold the true share in %s of cases; %d of %d reach the dashed line, where a map that is right would lie",
			number(looks), len(drawn), percent(coverage), right, len(drawn))
	}
	return c.figure("calibration", title, desc, numbers)
}
