package sheet

import (
	"math"
	"unicode/utf8"

	"rillwood/habitat/results"
)

// plan is how a sheet deals out its page.
type plan struct {
	Look        string  // class of the sheet
	least, most float64 // height of the map's ground, units of the drawing
	rows        int     // hosts in the tally
	rowMM       float64 // height of a row, as the style has it
	ground      float64 // the height chosen
}

// plans from roomy to tight: words take what room they need, and the map and
// the tally give it.
var plans = []plan{
	{Look: "roomy", least: 560, most: 640, rows: 5, rowMM: 6.6},
	{Look: "usual", least: 460, most: 600, rows: 5, rowMM: 5.8},
	{Look: "close", least: 400, most: 500, rows: 4, rowMM: 5.4},
	{Look: "least", least: 310, most: 400, rows: 4, rowMM: 5.2},
}

// pageMM is the height of a page of either paper, as the style has it: US
// letter is 279.4 mm high, A4 297 mm, and the margins take 6.5 mm each.
const pageMM = 265.5

// fit takes the first plan with which all stands on one page. Widths are those
// of a wide face; a narrow one leaves more room for notes.
func (d *sheetData) fit() {
	for _, p := range plans {
		p.ground = p.least
		if d.Plan = p; d.height() > pageMM {
			continue
		}
		for d.Plan.ground < p.most {
			if d.Plan.ground += 10; d.height() > pageMM {
				d.Plan.ground -= 10
				break
			}
		}
		break
	}
	if n := d.Plan.rows; len(d.Rows) > n {
		for _, r := range d.Rows[n:] {
			if d.Others != "" {
				d.Others = "; " + d.Others
			}
			d.Others = r.Host + " " + r.Expected + d.Others
		}
		d.Rows = d.Rows[:n]
	}
	d.Gates, d.Finds = make([]int, 8), make([]int, 4)
	d.Blank = make([]int, d.Plan.rows+1-len(d.Rows))
}

// Heights in millimetres as the style has them: a line of 8.5 pt and one of
// 8 pt, and what does not depend on words: frames, gaps, fill-in lines, least
// notes, footer.
const (
	lineMM  = 3.54
	smallMM = 3.33
	fixedMM = 50.0
	sideMM  = 17.0 // facts beside the map and the head of the places
	placeMM = 7.3  // one place
)

// Letters to a line of 190 mm in a wide face, and to one in half of it.
const (
	perLine  = 114.0
	perBold  = 104.0
	perSmall = 118.0
	perHalf  = 57.0
	perTitle = 46.0
)

func lines(letters int, per float64) float64 { return math.Ceil(float64(letters) / per) }

// height is what the sheet needs with its plan, millimetres, at the most.
func (d *sheetData) height() float64 {
	n := utf8.RuneCountInString
	said := func(k results.Caution) int { return n(k.Title) + n(k.Text) + 3 }

	title := lines(n(d.Title), perTitle)*5.05 + 5 + (lines(n(d.RunName)+min(80, n(d.Run.Target.Common))+20, 60)-1)*lineMM
	total := fixedMM + max(10.9, title)

	deadly := 0
	for _, k := range d.Deadly {
		deadly += said(k)
	}
	total += lines(deadly, perLine) * lineMM
	if d.Poison != nil {
		total += lines(said(*d.Poison), perBold) * lineMM
	}
	total += lines(n(d.Stamp.Words)*5/4+n(d.Stamp.Note), perLine) * lineMM
	if d.C.Learning {
		total += lines(n(learning), perLine)*lineMM + 1
	}
	total += lines(n(d.GridName)+n(d.North)+56, perLine*1.12) * 3.1

	way, why := n(d.Walk)+9, n(d.Why)+11
	for _, w := range d.WayWarn {
		way += n(w) + 1
	}
	if d.Evidence != "" {
		why += n(d.Evidence) + 12
	}
	total += math.Ceil((lines(way, perHalf)+lines(why, perHalf)+1)/2) * lineMM // a line may stand over

	if len(d.Winter) > 0 {
		marks := 24
		for _, w := range d.Winter {
			marks += n(w.Host) + n(w.Mark) + 4
		}
		total += lines(marks, perSmall)*smallMM + 0.6
	}
	others := n(d.Others)
	for _, r := range d.Rows[min(d.Plan.rows, len(d.Rows)):] {
		others += n(r.Host) + n(r.Expected) + 3
	}
	if others > 0 {
		total += lines(others+22, perSmall)*smallMM + 0.6
	}

	warn := 0.0
	for _, k := range d.Cautions {
		warn += lines(said(k), perHalf)*lineMM + 0.7
	}
	total += warn/2 + lineMM // so may an item, in part

	chart := (marginTop + d.Plan.ground + marginBottom) / 10
	return total + max(chart, sideMM+placeMM*float64(len(d.Places))) + float64(d.Plan.rows+1)*d.Plan.rowMM
}
