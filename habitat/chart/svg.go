package chart

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
	"unicode"
)

// Colours: ink on paper 12 : 1, marks on paper above 4.5 : 1, the two marks
// told apart by lightness and by dashes as well.
const (
	ink   = "var(--ink,#1c2326)"
	faint = "var(--faint,#5a666c)"
	rule  = "var(--rule,#aab4b8)"
	now   = "var(--mark,#1d5f8a)"
	was   = "var(--past,#8a5a1d)"
)

// Sizes in the units of the drawings. A figure of 360 units keeps its letters
// above 10 pixels on a phone of 320 (common practice, no source).
const (
	width = 360.0
	large = 14.0
	small = 13.0
)

// canvas collects the marks of one figure in a box of w × h units.
type canvas struct {
	w, h  float64
	marks strings.Builder
}

func (c *canvas) add(format string, args ...any) { fmt.Fprintf(&c.marks, format+"\n", args...) }

// at is a length with at most one decimal, the same on every machine.
func at(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }

func (c *canvas) text(x, y float64, anchor string, size float64, fill, s string) {
	c.add(`<text x="%s" y="%s" text-anchor="%s" font-size="%s" fill="%s">%s</text>`, at(x), at(y), anchor, at(size), fill, escaped(s))
}

// escaped makes text of layers and records fit to stand in SVG: without
// characters that XML does not have or that turn the direction of writing.
func escaped(s string) string {
	return html.EscapeString(strings.Map(drawable, strings.ToValidUTF8(s, "\ufffd")))
}

func drawable(r rune) rune {
	if unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF || unicode.Is(unicode.Bidi_Control, r) {
		return -1
	}
	return r
}

func (c *canvas) line(x1, y1, x2, y2 float64, stroke, width, more string) {
	c.add(`<path d="M%s %sL%s %s" stroke="%s" stroke-width="%s" fill="none"%s/>`, at(x1), at(y1), at(x2), at(y2), stroke, width, more)
}

// figure closes the canvas: title and description are what a screen reader
// says; the table below holds the same numbers for those who want to read them.
func (c *canvas) figure(class, title, desc string, numbers table) template.HTML {
	return template.HTML(fmt.Sprintf(`<svg class="chart %s" role="img" viewBox="0 0 %s %s" xmlns="http://www.w3.org/2000/svg" font-family="system-ui,sans-serif" aria-label="%s"><title>%s</title><desc>%s</desc>`,
		class, at(c.w), at(c.h), escaped(title+". "+desc), escaped(title), escaped(desc))+"\n"+c.marks.String()+"</svg>\n") + numbers.html(title)
}

// steps gives round numbers from 0 to just beyond most, 3 to 6 of them.
func steps(most float64) []float64 {
	if !(most > 0) || math.IsInf(most, 0) {
		return []float64{0, 1}
	}
	unit := math.Pow(10, math.Floor(math.Log10(most)))
	step := unit
	for _, k := range []float64{0.2, 0.25, 0.5, 1, 2, 5} {
		if step = k * unit; most/step <= 5 {
			break
		}
	}
	var out []float64
	for v := 0.0; ; v += step {
		out = append(out, math.Round(v/step)*step)
		if v >= most-1e-9*most {
			return out
		}
	}
}

// between gives the round numbers from lo to hi, 0 among them when it lies
// there: steps of 1, 2 or 5 times a power of ten, 2 to 6 numbers, short enough
// for number to write them exactly.
func between(lo, hi float64) (out []float64) {
	const most = 5 // so that their words keep apart
	unit := math.Pow(10, math.Floor(math.Log10((hi-lo)/most)))
	step := unit
	for _, k := range []float64{1, 2, 5, 10} {
		if step = k * unit; (hi-lo)/step <= most {
			break
		}
	}
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		out = append(out, k*step+0)
	}
	return out
}

// number writes a figure shortly: 1,200, 35, 3.2, 0.08.
func number(v float64) string {
	switch {
	case !known(v):
		return "not known"
	case v != 0 && math.Abs(v) < 5e-5:
		return "about 0"
	case math.Abs(v) >= 999.5:
		s := strconv.FormatFloat(math.Round(v), 'f', 0, 64)
		for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
			s = s[:i] + "," + s[i:]
		}
		return s
	case math.Abs(v) >= 10 || v == math.Trunc(v):
		return strconv.FormatFloat(math.Round(v), 'f', 0, 64)
	}
	two, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 2, 64), 64) // what was just written reads
	return strconv.FormatFloat(two, 'f', -1, 64)
}

// known tells whether a figure is one at all.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

func percent(v float64) string {
	if !known(v) {
		return "not known"
	}
	switch a := math.Abs(v); {
	case a > 0 && a < 0.0001:
		return "< 0.01 %"
	case a < 0.001:
		return number(v*100) + " %"
	}
	return number(math.Round(v*1000)/10) + " %"
}
