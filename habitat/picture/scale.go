package picture

import (
	"fmt"
	"image"
	"math"
	"strconv"
)

const (
	metresPerMile = 1609.344 // international mile, exact
	metresPerFoot = 0.3048   // international foot, exact
)

// round125 is the largest 1, 2 or 5 times a power of ten that is not above v.
func round125(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{5, 2, 1} {
		// The tolerance keeps a power of ten that Log10 or Pow rounded down.
		if m*p <= v*(1+1e-12) {
			return m * p
		}
	}
	return p
}

// scaleBlock is the scale bar, the north arrow, and what the grid is.
func scaleBlock(p *page, x, y, w float64) float64 {
	top := y
	y += p.header(x, y, "SCALE AND NORTH")
	arrowW := 2.6 * p.u
	barW := w - arrowW - 1.2*p.u
	drawBar(p, x, y, barW)
	drawNorth(p, x+w-arrowW/2, y-0.9*p.u, 4.3*p.u)
	y += 4.0 * p.u
	st := p.style(p.faces.regular, 0.85)
	st.color = muted
	words := []string{p.s.CRS, "North is grid north."}
	if p.exaggeration > 1 {
		words[1] += fmt.Sprintf(" Relief heights × %s.", strconv.FormatFloat(p.exaggeration, 'g', -1, 64))
	}
	for _, s := range words {
		for _, l := range st.wrap(s, w) {
			p.text(st, x, y+0.85*p.u, st.fit(l, w))
			y += 1.15 * p.u
		}
	}
	return y - top
}

// drawBar draws a round length in kilometres (metres when small) with a
// smaller one in miles (feet) under it.
func drawBar(p *page, x, y, w float64) {
	metresPerPixel := p.s.Cell / float64(p.zoom)
	line := max(1, int(math.Round(0.07*p.u)))
	st := p.style(p.faces.regular, 0.85)
	long := w * 0.86 * metresPerPixel // the last figure needs room

	unit, per := "km", 1000.0
	if long < 1000 {
		unit, per = "m", 1
	}
	n := round125(long / per)
	px := n * per / metresPerPixel
	h := int(math.Round(0.5 * p.u))
	y0 := int(math.Round(y + 1.15*p.u))
	parts := 4
	if lead := n / math.Pow(10, math.Floor(math.Log10(n)+1e-9)); math.Round(lead) == 5 {
		parts = 5
	}
	at := func(i int) int { return int(math.Round(x + px*float64(i)/float64(parts))) }
	for i := range parts {
		c := ink
		if i%2 == 1 {
			c = white
		}
		p.fill(image.Rect(at(i), y0, at(i+1), y0+h), c)
	}
	p.frame(image.Rect(at(0), y0, at(parts), y0+h), line, ink)
	p.text(st, x, float64(y0)-0.42*p.u, "0")
	label := strconv.FormatFloat(n, 'f', -1, 64)
	p.text(st, x+px-st.width(label)/2, float64(y0)-0.42*p.u, label+" "+unit)

	unit, per = "mi", metresPerMile
	if n := long / metresPerMile; n < 0.5 {
		unit, per = "ft", metresPerFoot
	}
	small := p.style(p.faces.regular, 0.75)
	small.color = muted
	m := round125(min(long, px*metresPerPixel) / per)
	mx := m * per / metresPerPixel
	y1 := y0 + h + int(math.Round(0.75*p.u))
	x0, x1 := int(math.Round(x)), int(math.Round(x+mx))
	tick := int(math.Round(0.3 * p.u))
	p.fill(image.Rect(x0, y1, x1, y1+line), muted)
	p.fill(image.Rect(x0, y1-tick, x0+line, y1), muted)
	p.fill(image.Rect(x1-line, y1-tick, x1, y1), muted)
	p.text(small, x+mx+0.45*p.u, float64(y1)+0.1*p.u, strconv.FormatFloat(m, 'f', -1, 64)+" "+unit)
}

// drawNorth draws an arrow of the given height, its tip up, middle at x.
func drawNorth(p *page, x, y, height float64) {
	if p.img == nil {
		return
	}
	st := p.style(p.faces.bold, 1.0)
	p.centered(st, x, y+st.face.capHeight*st.size, "N")
	tip, foot := y+1.05*p.u, y+height
	half := 0.36 * (foot - tip)
	notch := foot - 0.28*(foot-tip)
	box := image.Rect(int(x-half)-2, int(tip)-2, int(x+half)+3, int(foot)+3)
	p.fillOutline(polygon(pt{x, tip}, pt{x - half, foot}, pt{x, notch}), box, p.img.Rect, ink)
	p.fillOutline(polygon(pt{x, tip}, pt{x + half, foot}, pt{x, notch}), box, p.img.Rect, white)
	m := newMask(box)
	m.line([]pt{{x, tip}, {x + half, foot}, {x, notch}, {x - half, foot}, {x, tip}, {x, notch}}, 1.2*p.lw())
	p.paint(m, ink, 1)
}
