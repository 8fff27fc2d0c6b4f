package chart

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"unicode"
)

// Interval is a figure with the bounds between which it lies nine times in ten.
type Interval struct{ Mean, Low, High float64 }

// Rate is the chance that one dead or dying tree of a host carries the target.
type Rate struct {
	Host         string
	Trees, Finds float64 // looked at, and with a find; 0 = no records
	Interval
	Before *Interval // as it was believed before the records; nil = not told
}

// Weight is one weight of the bottomland sum before and after learning.
type Weight struct {
	Name, Words   string
	Before, After Interval
}

// row is one line of a figure of intervals.
type row struct {
	name, note string
	now        Interval
	before     *Interval
}

// Rates draws the hit rate of each host, what was believed before beside it.
func Rates(rates []Rate) template.HTML {
	rows := make([]row, len(rates))
	var told []string
	for i, r := range rates {
		note := ""
		if r.Trees > 0 {
			note = fmt.Sprintf("%s of %s trees", number(r.Finds), number(r.Trees))
		}
		rows[i] = row{r.Host, note, r.Interval, r.Before}
		if i < 3 {
			told = append(told, fmt.Sprintf("%s %s (%s to %s)", r.Host, percent(r.Mean), percent(r.Low), percent(r.High)))
		}
	}
	return intervals(rows, 0, percent, "rates", "Chance of a find on one dead or dying tree",
		"Bars hold the true chance nine times in ten. "+strings.Join(told, "; "))
}

// Weights draws the weights of bottomland before and after learning.
func Weights(ws []Weight) template.HTML {
	rows := make([]row, len(ws))
	for i, w := range ws {
		before := w.Before
		rows[i] = row{w.Words, "", w.After, &before}
	}
	return intervals(rows, math.Inf(1), number, "weights", "Weights of the bottomland sum, before and after",
		"Dashed: before the records; full: after. A bar left of the line at 0 lowers the chance of bottomland")
}

// intervals draws rows of bars on one axis. least is the lower end of the axis
// at most; +Inf leaves it to the data and draws a line at 0.
func intervals(rows []row, least float64, words func(float64) string, class, title, desc string) template.HTML {
	const label, wide, step, top = 220.0, 330.0, 38.0, 10.0
	c := &canvas{w: label + wide + 86, h: top + step*float64(len(rows)) + 34}
	lo, hi := least, math.Inf(-1)
	if math.IsInf(lo, 1) {
		lo, hi = 0, 0
	}
	spread := func(i Interval) {
		for _, v := range []float64{i.Mean, i.Low, i.High} {
			if known(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	for _, r := range rows {
		spread(r.now)
		if r.before != nil {
			spread(*r.before)
		}
	}
	if !(hi > lo) {
		hi = lo + 1
	}
	hi = max(hi, lo+0.01) // nobody reads finer
	x := func(v float64) float64 { return label + (v-lo)/(hi-lo)*wide }
	foot := top + step*float64(len(rows))
	for _, v := range between(lo, hi) {
		c.line(x(v), top, x(v), foot, rule, "1", "")
		c.text(x(v), foot+18, "middle", "12", faint, words(v))
	}
	if lo < 0 {
		c.line(x(0), top, x(0), foot, ink, "1.5", "")
	}
	for i, r := range rows {
		y := top + step*(float64(i)+0.5)
		c.text(label-10, y+1, "end", "14", ink, clip(r.name, 24))
		if r.note != "" {
			c.text(label-10, y+15, "end", "12", faint, r.note)
		}
		if r.before != nil {
			bar(c, x, *r.before, y+8, was, ` stroke-dasharray="4 3"`, "before")
		}
		bar(c, x, r.now, y-3, now, "", "now")
		c.text(label+wide+8, y+4, "start", "13", ink, words(r.now.Mean))
	}
	return c.figure(class, title, desc)
}

// bar draws one interval with its mean; nothing where it is not known.
func bar(c *canvas, x func(float64) float64, i Interval, y float64, stroke, dash, class string) {
	if !known(i.Mean) {
		return
	}
	if known(i.Low) && known(i.High) {
		c.add(`<path class="%s" d="M%s %sH%s" stroke="%s" stroke-width="4" fill="none"%s/>`, class, at(x(i.Low)), at(y), at(x(i.High)), stroke, dash)
	}
	c.add(`<circle class="%s" cx="%s" cy="%s" r="5" fill="%s"/>`, class, at(x(i.Mean)), at(y), stroke)
}

// clip shortens words to the width of n letters; those of East Asia and
// pictures are as wide as two.
func clip(s string, n int) string {
	wide := func(r rune) int {
		if r >= 0x1100 && unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul) || r >= 0xFF01 && r <= 0xFF60 || r >= 0x1F000 {
			return 2
		}
		return 1
	}
	all := 0
	for _, r := range s {
		all += wide(r)
	}
	if all <= n {
		return s
	}
	room := n - 1
	for i, r := range s {
		if room -= wide(r); room < 0 {
			return s[:i] + "…"
		}
	}
	return s
}
