package sheet

import (
	"math"
	"strings"

	"rillwood/habitat/results"
)

// plan is how a sheet deals out its page.
type plan struct {
	Look        string  // class of the sheet
	least, most float64 // height of the map's ground, units of the drawing
	rows        int     // hosts in the tally
	rowMM       float64 // height of a row, as the style has it
	words       float64 // share of the words of layers that is kept where they are long
	ground      float64 // the height chosen
}

// plans from roomy to tight: words take what room they need, and the map and
// the tally give it.
var plans = []plan{
	{Look: "roomy", least: 560, most: 640, rows: 5, rowMM: 6.6, words: 1},
	{Look: "usual", least: 460, most: 600, rows: 5, rowMM: 5.8, words: 1},
	{Look: "close", least: 400, most: 500, rows: 4, rowMM: 5.4, words: 1},
	{Look: "least", least: 310, most: 400, rows: 4, rowMM: 5.2, words: 1},
	{Look: "least", least: 310, most: 400, rows: 4, rowMM: 5.2, words: 0.7},
	{Look: "least", least: 310, most: 400, rows: 4, rowMM: 5.2, words: 0.45},
	{Look: "least", least: 310, most: 400, rows: 3, rowMM: 5.2, words: 0.3},
}

// pageMM is the height of a page of either paper, as the style has it: US
// letter is 279.4 mm high, A4 297 mm, and the margins take 6.5 mm each.
const pageMM = 265.5

// fit takes the first plan with which all stands on one page. Widths are those
// of a wide face; a narrow one leaves more room for notes.
func (d *sheetData) fit() {
	for _, p := range plans {
		p.ground = p.least
		d.cut(p.words)
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

// cut shortens what layers may tell at any length. Cautions are never cut.
func (d *sheetData) cut(share float64) {
	most := func(n int) int { return int(share * float64(n)) }
	if share < 1 {
		d.Title = results.Clip(d.Title, max(most(mostTitle), 60))
		d.RunName = results.Clip(d.RunName, 30)
	}
	d.Walk = results.Clip(d.Walk, most(mostWalk+40))
	d.Why = results.Clip(d.Why, most(mostWhy))
	d.Evidence = results.Clip(d.Evidence, most(mostEvidence+20))
	d.Others = results.Clip(d.Others, most(mostOthers+20))
	d.Stamp.Note = results.Clip(d.Stamp.Note, most(mostNote+1))
	for i := range d.Winter {
		d.Winter[i].Mark = results.Clip(d.Winter[i].Mark, most(mostMark))
	}
}

// Heights and widths in millimetres as the style has them: a line of 8.5 pt
// and one of 8 pt; what does not depend on words, as frames, gaps, fill-in
// lines, least notes and footer; the parts of the width.
const (
	lineMM  = 8.5 * 1.18 * pointMM
	smallMM = 8 * 1.18 * pointMM
	fixedMM = 52.5
	wideMM  = 191.0
	halfMM  = (wideMM - 5) / 2
	titleMM = 112.0
	boxMM   = wideMM - 5
	sideMM  = 20.0 // facts beside the map and the head of the places
	placeMM = 7.3  // one place
	factMM  = 56.0 // width of a fact
)

// height is what the sheet needs with its plan, millimetres.
func (d *sheetData) height() float64 {
	what := "field sheet for " + d.Run.Target.Common
	title := 4.5 + 5.05*float64(wrapped(titleMM, 13, piece{d.Title, true})) + lineMM*float64(wrapped(titleMM, 8.5, piece{d.RunName + " · " + what, false})-1)
	total := fixedMM + max(10.9, title)

	full := func(points float64, pieces ...piece) float64 {
		return float64(wrapped(wideMM, points, pieces...)) * points * 1.18 * pointMM
	}
	box := func(pieces ...piece) float64 { return float64(wrapped(boxMM, 8.5, pieces...)) * lineMM }
	var deadly []piece
	for _, k := range d.Deadly {
		deadly = append(deadly, piece{k.Title + ".", true}, piece{k.Text, false})
	}
	total += box(deadly...)
	if d.Poison != nil {
		total += box(piece{d.Poison.Title + ": " + d.Poison.Text, true})
	}
	// The stamp is set in 9.5 pt, a little wider than reckoned here.
	total += box(piece{d.Stamp.Words + " xxxx", true}, piece{d.Stamp.Note, false})
	if d.Learning != "" {
		total += box(piece{d.Learning, true}) + 1
	}
	total += full(7.5, piece{"Degrees: WGS 84. Grid: " + d.GridName + ", m. " + d.North + " Darker is more suitable.", false})

	half := func(pieces ...piece) float64 { return float64(wrapped(halfMM, 8.5, pieces...)) }
	two := half(append([]piece{{"Way in.", true}}, piece{d.Walk + " " + strings.Join(d.WayWarn, " "), false})...)
	why := []piece{{"Why here.", true}, {d.Why, false}}
	if d.Evidence != "" {
		why = append(why, piece{"Evidence:", true}, piece{d.Evidence + ".", false})
	}
	two += half(why...)
	total += math.Ceil((two+1)/2) * lineMM // a line may stand over

	if len(d.Winter) > 0 {
		marks := []piece{{"Know them in winter.", true}}
		for _, w := range d.Winter {
			marks = append(marks, piece{w.Host, true}, piece{": " + w.Mark + ";", false})
		}
		total += full(8, marks...) + 0.6
	}
	others := d.Others
	for _, r := range d.Rows[min(d.Plan.rows, len(d.Rows)):] {
		others = r.Host + " " + r.Expected + "; " + others
	}
	if others != "" {
		total += full(8, piece{"Other hosts expected:", true}, piece{others, false}) + 0.6
	}

	var warn []float64
	for _, k := range d.Cautions {
		warn = append(warn, half(piece{k.Title + ".", true}, piece{k.Text, false})*lineMM+0.7)
	}
	total += columns(warn)

	side := sideMM + placeMM*float64(len(d.Places))
	for _, f := range d.Facts {
		side += float64(wrapped(factMM, 8, piece{f.Name + " xx", false}, piece{f.Value, true})-1) * smallMM
	}
	chart := (marginTop + d.Plan.ground + marginBottom) / 10
	return total + max(chart, side) + float64(d.Plan.rows+1)*d.Plan.rowMM
}
