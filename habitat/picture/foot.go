package picture

import (
	"image"
	"math"
)

// drawFoot sets the notes and, across the whole page, the safety line. It
// returns the height of both.
func drawFoot(p *page) float64 {
	y := p.foot.y
	st := p.style(p.faces.regular, 0.85)
	st.color = muted
	for _, n := range p.s.Notes {
		for _, l := range st.wrap(n, p.textWidth) {
			y += 1.2 * st.size
			p.text(st, p.foot.x, y, st.fit(l, p.textWidth))
			y += 0.12 * st.size
		}
		y += 0.3 * st.size
	}
	if len(p.s.Notes) > 0 {
		y += 0.9 * p.u
	}

	bold := p.style(p.faces.bold, 1.2)
	bold.color = white
	sign := 1.9 * p.u
	lines := bold.wrap(Safety, p.textWidth-sign)
	high := 1.5*p.u + 1.45*bold.size*float64(len(lines))
	p.fill(image.Rect(0, int(math.Round(y)), p.w, p.h), ink)
	drawSign(p, p.margin+0.65*p.u, y+high/2, 1.35*p.u)
	base := y + 0.75*p.u + 1.08*bold.size
	for _, l := range lines {
		p.text(bold, p.margin+sign, base, l)
		base += 1.45 * bold.size
	}
	return y + high - p.foot.y
}

// drawSign draws the general warning triangle around (x, y).
func drawSign(p *page, x, y, size float64) {
	if p.img == nil {
		return
	}
	m := newMask(image.Rect(int(x-size), int(y-size), int(x+size)+1, int(y+size)+1))
	h := size * math.Sqrt(3) / 2
	t, l, r := pt{x, y - h/2}, pt{x - size/2, y + h/2}, pt{x + size/2, y + h/2}
	m.line([]pt{t, l, r, t}, 0.2*size)
	p.paint(m, caution, 1)
	p.fillOutline(polygon(t, l, r), m.r, p.img.Rect, caution)
	bang := newMask(m.r)
	bang.segment(pt{x, y - 0.14*h}, pt{x, y + 0.14*h}, 0.13*size)
	bang.disc(pt{x, y + 0.36*h}, 0.075*size)
	p.paint(bang, ink, 1)
}
