package picture

import (
	"image"
	"math"
)

// page is the picture being made: where everything stands, and the image
// itself, nil while heights are only being measured.
type page struct {
	s     *Scene
	img   *image.NRGBA
	faces faces

	zoom int     // pixels a side of a picture cell
	u    float64 // size of ordinary text, pixels; all lengths of the page follow it
	w, h int     // pixels of the whole picture

	margin    float64
	head      pt              // top left of the title
	mapRect   image.Rectangle // the grid itself
	plate     image.Rectangle // its frame, larger than a very thin map
	legend    image.Rectangle
	side      bool // legend beside the map rather than under it
	foot      pt   // top left of the notes
	textWidth float64

	exaggeration float64
	streams      []Line    // those that are drawn
	leastOrder   int       // their lowest order when smaller ones are left out, else 0
	patches      []Outline // those that are drawn, best first
	numbered     int       // how many of them get their number
}

// Lengths of the layout, in sizes of ordinary text.
const (
	marginU      = 2.0
	gapU         = 1.3
	panelU       = 16.0 // width of a legend beside the map
	plateWideU   = 42.0 // least width of the map's frame: titles need room
	plateHighU   = 7.0  // least height
	sideAspect   = 1.2  // below this width to height the legend stands beside
	textShare    = 0.0148
	leastText    = 15.0
	streamGap    = 12.0   // mean distance between streams below which small ones go, in line units
	patchGap     = 12.0   // the same between edges of patches
	thinForgives = 1600.0 // a thin strip does not make text larger than this length would
)

// plan lays the page out from the top down.
func plan(s *Scene) *page {
	p := &page{s: s, faces: loadFaces(), zoom: zoom(s.W, s.H)}
	mw, mh := s.W*p.zoom, s.H*p.zoom
	p.u = max(leastText, textShare*min(float64(max(mw, mh)), max(thinForgives, 4*float64(min(mw, mh)))))
	p.exaggeration = Exaggeration(s.Elevation, s.W, s.H, s.Cell)

	px := func(u float64) int { return int(math.Round(u * p.u)) }
	pw, ph := max(mw, px(plateWideU)), max(mh, px(plateHighU))
	if float64(mw) < sideAspect*float64(mh) {
		p.side = true
		pw = max(mw, px(plateWideU-panelU-gapU))
	}
	m := px(marginU)
	p.margin = float64(m)
	p.w = pw + 2*m
	if p.side {
		p.w += px(gapU) + px(panelU)
	}
	p.textWidth = float64(p.w - 2*m)

	y := m
	p.head = pt{p.margin, float64(y)}
	y += int(math.Ceil(drawHead(p)))
	p.plate = image.Rect(m, y, m+pw, y+ph)
	cx, cy := m+(pw-mw)/2, y+(ph-mh)/2
	p.mapRect = image.Rect(cx, cy, cx+mw, cy+mh)

	p.streams, p.leastOrder = sift(p, streamGap*p.lw())
	p.patches, p.numbered = choose(p, patchGap*p.lw())

	if p.side {
		x := p.plate.Max.X + px(gapU)
		p.legend = image.Rect(x, y, x+px(panelU), y)
		high := max(ph, int(math.Ceil(drawLegend(p))))
		p.legend.Max.Y = y + high
		y += high
	} else {
		y += ph + px(gapU)
		p.legend = image.Rect(m, y, m+pw, y)
		p.legend.Max.Y = y + int(math.Ceil(drawLegend(p)))
		y = p.legend.Max.Y
	}
	p.foot = pt{p.margin, float64(y + px(gapU))}
	p.h = int(math.Ceil(p.foot.y + drawFoot(p)))
	return p
}

// toPage turns picture-cell coordinates into pixels.
func (p *page) toPage(c [2]float64) pt {
	return pt{float64(p.mapRect.Min.X) + c[0]*float64(p.zoom), float64(p.mapRect.Min.Y) + c[1]*float64(p.zoom)}
}

func (p *page) style(f *face, sizeU float64) style {
	return style{face: f, size: sizeU * p.u, color: ink}
}

// drawHead sets title and subtitle and returns the height they take.
func drawHead(p *page) float64 {
	y := p.head.y
	if p.s.Title != "" {
		st := p.style(p.faces.bold, 2.1)
		for st.width(p.s.Title) > p.textWidth && st.size > 1.45*p.u {
			st.size -= 0.05 * p.u
		}
		for _, l := range st.wrap(p.s.Title, p.textWidth) {
			y += st.size
			p.text(st, p.head.x, y, st.fit(l, p.textWidth))
			y += 0.25 * st.size
		}
	}
	if p.s.Subtitle != "" {
		st := p.style(p.faces.regular, 1.1)
		st.color = muted
		y += 0.15 * p.u
		for _, l := range st.wrap(p.s.Subtitle, p.textWidth) {
			y += 1.1 * st.size
			p.text(st, p.head.x, y, st.fit(l, p.textWidth))
			y += 0.3 * st.size
		}
	}
	if y > p.head.y {
		y += 0.8 * p.u
	}
	return y - p.head.y
}
