package picture

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"strings"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/vector"
)

// faces are read for each page rather than shared: their glyph stores grow as
// they are used, and pictures may be drawn at the same time.
type faces struct{ regular, bold, italic *face }

func loadFaces() faces {
	return faces{parseFace(goregular.TTF), parseFace(gobold.TTF), parseFace(goitalic.TTF)}
}

// style is how a line of text looks.
type style struct {
	face  *face
	size  float64 // em, pixels
	color color.NRGBA
	track float64 // extra space after each letter, em
	halo  float64 // width of the light edge, pixels; 0 for none
}

// width is the length of the text in pixels.
func (st style) width(s string) float64 {
	w := 0.0
	for _, r := range s {
		w += st.face.glyph(r).advance + st.track
	}
	if s != "" {
		w -= st.track
	}
	return w * st.size
}

// spot is where a glyph stands: its origin on the baseline and its turn.
type spot struct {
	at       pt
	cos, sin float64
}

// text sets one line with its baseline starting at (x, y).
func (p *page) text(st style, x, y float64, s string) {
	if p.img == nil {
		return
	}
	y = math.Round(y) // baselines on whole pixels keep small letters crisp
	spots := make([]spot, 0, len(s))
	for _, r := range s {
		spots = append(spots, spot{pt{x, y}, 1, 0})
		x += (st.face.glyph(r).advance + st.track) * st.size
	}
	p.glyphs(st, []rune(s), spots, p.img.Rect)
}

// centered sets one line in the middle around x.
func (p *page) centered(st style, x, y float64, s string) {
	p.text(st, x-st.width(s)/2, y, s)
}

// glyphs sets each rune at its spot, inside the clip rectangle.
func (p *page) glyphs(st style, runes []rune, spots []spot, within image.Rectangle) {
	if p.img == nil || len(runes) == 0 {
		return
	}
	lo, hi := pt{math.Inf(1), math.Inf(1)}, pt{math.Inf(-1), math.Inf(-1)}
	var outline []segment
	for i, r := range runes {
		s := spots[i]
		place := func(q pt) pt {
			x, y := q.x*st.size, q.y*st.size
			return pt{s.at.x + x*s.cos - y*s.sin, s.at.y + x*s.sin + y*s.cos}
		}
		for _, g := range st.face.glyph(r).outline {
			g.to = place(g.to)
			lo, hi = pt{min(lo.x, g.to.x), min(lo.y, g.to.y)}, pt{max(hi.x, g.to.x), max(hi.y, g.to.y)}
			if g.op == sfnt.SegmentOpQuadTo {
				g.via = place(g.via)
				lo, hi = pt{min(lo.x, g.via.x), min(lo.y, g.via.y)}, pt{max(hi.x, g.via.x), max(hi.y, g.via.y)}
			}
			outline = append(outline, g)
		}
	}
	if len(outline) == 0 {
		return
	}
	e := st.halo + 1
	box := image.Rect(int(math.Floor(lo.x-e)), int(math.Floor(lo.y-e)), int(math.Ceil(hi.x+e)), int(math.Ceil(hi.y+e)))
	if st.halo > 0 {
		m := newMask(box.Intersect(within))
		for _, l := range flatten(outline) {
			m.line(l, 2*st.halo)
		}
		p.paint(m, white, 0.85)
	}
	p.fillOutline(outline, box, within, st.color)
}

// fillOutline fills closed outlines that lie inside box by the non-zero rule.
func (p *page) fillOutline(outline []segment, box, within image.Rectangle, c color.NRGBA) {
	if p.img == nil {
		return
	}
	z := vector.NewRasterizer(box.Dx(), box.Dy())
	fx := func(v float64) float32 { return float32(v - float64(box.Min.X)) }
	fy := func(v float64) float32 { return float32(v - float64(box.Min.Y)) }
	for _, s := range outline {
		switch s.op {
		case sfnt.SegmentOpMoveTo:
			z.ClosePath()
			z.MoveTo(fx(s.to.x), fy(s.to.y))
		case sfnt.SegmentOpLineTo:
			z.LineTo(fx(s.to.x), fy(s.to.y))
		default:
			z.QuadTo(fx(s.via.x), fy(s.via.y), fx(s.to.x), fy(s.to.y))
		}
	}
	z.ClosePath()
	cover := image.NewAlpha(image.Rect(0, 0, box.Dx(), box.Dy()))
	z.DrawOp = draw.Src
	z.Draw(cover, cover.Rect, image.Opaque, image.Point{})
	r := box.Intersect(within).Intersect(p.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			blend(p.img, x, y, c, cover.Pix[(y-box.Min.Y)*cover.Stride+x-box.Min.X])
		}
	}
}

// wrap breaks text into lines no wider than width; a word wider than that
// stands alone on its line.
func (st style) wrap(s string, width float64) []string {
	var lines []string
	for _, word := range strings.Fields(s) {
		if n := len(lines); n > 0 && st.width(lines[n-1]+" "+word) <= width {
			lines[n-1] += " " + word
			continue
		}
		lines = append(lines, word)
	}
	return lines
}

// fit cuts text to width, with an ellipsis where something was cut.
func (st style) fit(s string, width float64) string {
	if st.width(s) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 0 && st.width(string(r)+"…") > width {
		r = r[:len(r)-1]
	}
	return strings.TrimSpace(string(r)) + "…"
}
