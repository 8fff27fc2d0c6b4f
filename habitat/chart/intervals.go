package chart

import (
	"fmt"
	"html/template"
	"math"
	"strings"
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
	return intervals(rows, "Tree", 0, percent, "rates", "Chance of a find on one dead or dying tree",
		"Bars hold the true chance nine times in ten. "+strings.Join(told, "; "))
}

// Weights draws the weights of bottomland before and after learning.
func Weights(ws []Weight) template.HTML {
	rows := make([]row, len(ws))
	for i, w := range ws {
		before := w.Before
		rows[i] = row{w.Words, "", w.After, &before}
	}
	return intervals(rows, "Weight", math.Inf(1), number, "weights", "Weights of the bottomland sum, before and after",
		"Dashed: before the records; full: after. A bar left of the line at 0 lowers the chance of bottomland")
}

// intervals draws rows on one axis: the name, and below it the bar. least is
// the lower end of the axis at most; +Inf leaves it to the data and draws a
// line at 0.
func intervals(rows []row, what string, least float64, words func(float64) string, class, title, desc string) template.HTML {
	const left, right, step, top = 26.0, 78.0, 46.0, 6.0
	const wide = width - left - right
	told := false
	for _, r := range rows {
		told = told || r.before != nil
	}
	foot := top + step*float64(len(rows))
	c := &canvas{w: width, h: foot + 26}
	if told {
		c.h += 22
	}
	lo, hi := span(rows, least)
	x := func(v float64) float64 { return left + (v-lo)/(hi-lo)*wide }
	ticks := between(lo, hi)
	for _, v := range ticks {
		c.text(x(v), foot+16, "middle", small, faint, words(v))
	}
	for i, r := range rows {
		y := top + step*float64(i)
		for _, v := range ticks { // behind the bars, not through the names
			c.line(x(v), y+19, x(v), y+step-2, rule, "1", "")
		}
		if lo < 0 {
			c.line(x(0), y+19, x(0), y+step-2, ink, "1.5", "")
		}
		room := width - 12.0
		if r.note != "" {
			c.text(width-6, y+14, "end", small, faint, r.note)
			room -= wideness(r.note)*small + 10
		}
		c.text(6, y+14, "start", large, ink, clip(r.name, room/large))
		if r.before != nil {
			bar(c, x, *r.before, y+37, was, dashes, "before")
		}
		bar(c, x, r.now, y+26, now, "", "now")
		c.text(width-6, y+32, "end", large, ink, words(r.now.Mean))
	}
	if told {
		key(c, foot+38)
	}
	return c.figure(class, title, desc, numbers(rows, what, told, words))
}

// span is the axis that holds all that is known of the rows.
func span(rows []row, least float64) (lo, hi float64) {
	lo, hi = least, math.Inf(-1)
	if math.IsInf(lo, 1) {
		lo, hi = 0, 0
	}
	hold := func(i Interval) {
		for _, v := range []float64{i.Mean, i.Low, i.High} {
			if known(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
	}
	for _, r := range rows {
		hold(r.now)
		if r.before != nil {
			hold(*r.before)
		}
	}
	if !(hi > lo) {
		hi = lo + 1
	}
	return lo, max(hi, lo+0.01) // nobody reads finer
}

// dashes tell bars of before from those of now where colours cannot.
const dashes = ` stroke-dasharray="4 3"`

// bar draws one interval with its mean; nothing
// where it is not known.
func bar(c *canvas, x func(float64) float64, i Interval, y float64, stroke, dash, class string) {
	if !known(i.Mean) {
		return
	}
	if known(i.Low) && known(i.High) {
		c.add(`<path class="%s" d="M%s %sH%s" stroke="%s" stroke-width="4" fill="none"%s/>`, class, at(x(i.Low)), at(y), at(x(i.High)), stroke, dash)
	}
	c.add(`<circle class="%s" cx="%s" cy="%s" r="5" fill="%s"/>`, class, at(x(i.Mean)), at(y), stroke)
}

// key tells what full and dashed bars are.
func key(c *canvas, y float64) {
	c.add(`<path d="M26 %sH52" stroke="%s" stroke-width="4" fill="none"/>`, at(y-4), now)
	c.text(58, y, "start", small, faint, "now")
	c.add(`<path d="M120 %sH146" stroke="%s" stroke-width="4" fill="none"%s/>`, at(y-4), was, dashes)
	c.text(152, y, "start", small, faint, "before the records")
}

func numbers(rows []row, what string, told bool, words func(float64) string) table {
	t := table{heads: []string{what, "Now", "From", "To"}}
	if told {
		t.heads = append(t.heads, "Before", "From", "To")
	}
	for _, r := range rows {
		name := r.name
		if r.note != "" {
			name += " (" + r.note + ")"
		}
		cells := []string{name, words(r.now.Mean), words(r.now.Low), words(r.now.High)}
		switch {
		case r.before != nil:
			cells = append(cells, words(r.before.Mean), words(r.before.Low), words(r.before.High))
		case told:
			cells = append(cells, "not told", "", "")
		}
		t.rows = append(t.rows, cells)
	}
	return t
}
