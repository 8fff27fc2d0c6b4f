package picture

import (
	"fmt"
	"image"
	"math"
	"strconv"
)

// drawLegend sets the legend into p.legend and returns the height it needs:
// three blocks, one under the other beside the map, or side by side under it.
func drawLegend(p *page) float64 {
	x, y := float64(p.legend.Min.X), float64(p.legend.Min.Y)
	w := float64(p.legend.Dx())
	blocks := []func(p *page, x, y, w float64) float64{rampBlock, keyBlock, scaleBlock}
	if !p.side {
		gap := 2.2 * p.u
		high := 0.0
		shares := []float64{0.36, 0.30, 0.34}
		for i, b := range blocks {
			bw := shares[i] * (w - 2*gap)
			high = max(high, b(p, x, y, bw))
			x += bw + gap
		}
		return high
	}
	top := y
	for i, b := range blocks {
		if i > 0 {
			y += 1.7 * p.u
		}
		if i == len(blocks)-1 && p.img != nil {
			// The scale stands at the foot of the panel.
			probe := *p
			probe.img = nil
			y = max(y, float64(p.legend.Max.Y)-b(&probe, x, y, w))
		}
		y += b(p, x, y, w)
	}
	return y - top
}

// header sets a small heading and returns the height it takes.
func (p *page) header(x, y float64, s string) float64 {
	st := p.style(p.faces.bold, 0.78)
	st.track, st.color = 0.09, muted
	p.text(st, x, y+0.75*p.u, s)
	return 1.35 * p.u
}

// rampBlock is the colour ramp with its ticks, as it looks on level ground.
func rampBlock(p *page, x, y, w float64) float64 {
	top := y
	y += p.header(x, y, "SUITABILITY")
	bar := image.Rect(int(x), int(y), int(x+w), int(y+1.35*p.u))
	if p.img != nil {
		for px := bar.Min.X; px < bar.Max.X; px++ {
			v := (float64(px-bar.Min.X) + 0.5) / float64(bar.Dx())
			p.fill(image.Rect(px, bar.Min.Y, px+1, bar.Max.Y), overlay(flatShade, v))
		}
	}
	line := max(1, int(math.Round(0.06*p.u)))
	p.frame(bar, line, ink)
	y = float64(bar.Max.Y)
	st := p.style(p.faces.regular, 0.85)
	for i := range 6 {
		v := float64(i) / 5
		tx := float64(bar.Min.X) + v*float64(bar.Dx())
		p.fill(image.Rect(int(tx)-line/2, bar.Max.Y, int(tx)-line/2+line, bar.Max.Y+int(0.35*p.u)), ink)
		s := strconv.FormatFloat(v, 'g', -1, 64)
		sw := st.width(s)
		p.text(st, min(max(tx-sw/2, x), x+w-sw), y+1.2*p.u, s)
	}
	y += 1.2 * p.u
	words := p.style(p.faces.regular, 0.85)
	words.color = muted
	p.text(words, x, y+1.15*p.u, "unlikely")
	end := "look here first"
	p.text(words, x+w-words.width(end), y+1.15*p.u, end)
	return y + 1.4*p.u - top
}

// keyBlock explains the marks that are on this map.
func keyBlock(p *page, x, y, w float64) float64 {
	top := y
	y += p.header(x, y, "ON THE MAP")
	sample := 2.9 * p.u
	st := p.style(p.faces.regular, 0.92)
	row := func(draw func(r image.Rectangle), words string) {
		r := image.Rect(int(x), int(y), int(x+sample), int(y+1.3*p.u))
		if p.img != nil {
			draw(r)
		}
		for _, l := range st.wrap(words, w-sample-0.7*p.u) {
			p.text(st, x+sample+0.7*p.u, y+0.97*p.u, l)
			y += 1.2 * p.u
		}
		y += 0.42 * p.u
	}
	if len(p.s.Outlines) > 0 {
		words := "Patch to scout, 1 is best"
		if n, all := len(p.patches), len(p.s.Outlines); n < all {
			words += fmt.Sprintf("; %d of %d shown", n, all)
		}
		row(p.patchSample, words)
	}
	if len(p.s.Streams) > 0 {
		words := "Stream, thicker when larger"
		if p.leastOrder > 1 {
			words = fmt.Sprintf("Stream of order %d or more", p.leastOrder)
		}
		row(p.streamSample, words)
	}
	if p.showsArea() {
		row(p.areaSample, "Edge of the area")
	}
	row(func(r image.Rectangle) { p.swatch(r.Inset(max(1, int(0.12*p.u)))) }, "Outside, or no data")
	return y - 0.42*p.u - top
}

func (p *page) patchSample(r image.Rectangle) {
	m, h := newMask(r.Inset(-int(p.u))), newMask(r.Inset(-int(p.u)))
	c := pt{float64(r.Min.X+r.Max.X) / 2, float64(r.Min.Y+r.Max.Y) / 2}
	var ring []pt
	for i := range 41 {
		a := float64(i) * math.Pi / 20
		// An irregular blob, as patches are.
		f := 0.88 + 0.1*math.Sin(2*a+0.6) + 0.07*math.Cos(3*a)
		ring = append(ring, pt{c.x + f*0.46*float64(r.Dx())*math.Cos(a), c.y + f*0.5*float64(r.Dy())*math.Sin(a)})
	}
	p.fillOutline(polygon(ring...), r.Inset(-int(p.u)), p.img.Rect, overlay(flatShade, 0.7))
	h.line(ring, 5*p.lw())
	m.line(ring, 2.2*p.lw())
	p.paint(h, white, 0.85)
	p.paint(m, patch, 1)
	st := p.style(p.faces.bold, 0.7)
	st.color = white
	at := pt{float64(r.Max.X) - 0.5*p.u, c.y}
	edge, body := newMask(h.r), newMask(h.r)
	edge.disc(at, 0.6*p.u)
	body.disc(at, 0.6*p.u-1.2*p.lw())
	p.paint(edge, white, 1)
	p.paint(body, patch, 1)
	p.centered(st, at.x, at.y+st.face.capHeight*st.size/2, "1")
}

func (p *page) streamSample(r image.Rectangle) {
	m := newMask(r)
	n := 36
	for i := range n {
		wave := func(j int) pt {
			t := float64(j) / float64(n)
			return pt{float64(r.Min.X) + 2*p.lw() + t*(float64(r.Dx())-5*p.lw()), float64(r.Min.Y) + float64(r.Dy())*(0.5-0.22*math.Sin(t*2.2*math.Pi))}
		}
		m.segment(wave(i), wave(i+1), p.streamWidth(1)+(p.streamWidth(5)-p.streamWidth(1))*float64(i)/float64(n))
	}
	p.paint(m, water, 1)
}

func (p *page) areaSample(r image.Rectangle) {
	m := newMask(r)
	y := float64(r.Min.Y+r.Max.Y) / 2
	m.dashes([]pt{{float64(r.Min.X) + p.lw(), y}, {float64(r.Max.X) - p.lw(), y}}, 1.5*p.lw(), 9*p.lw(), 4*p.lw(), 0.01, 4*p.lw())
	p.paint(m, ink, 0.9)
}
