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
	"golang.org/x/image/vector"
)

// faces are parsed for each page rather than shared: their glyph stores grow
// as they are used, and pictures may be drawn at the same time.
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
	var shapes [][]curvePoint
	for i, r := range runes {
		for _, c := range st.face.glyph(r).contours {
			shape := make([]curvePoint, len(c))
			for j, q := range c {
				x, y := q.x*st.size, q.y*st.size
				s := spots[i]
				shape[j] = curvePoint{s.at.x + x*s.cos - y*s.sin, s.at.y + x*s.sin + y*s.cos, q.on}
				lo = pt{min(lo.x, shape[j].x), min(lo.y, shape[j].y)}
				hi = pt{max(hi.x, shape[j].x), max(hi.y, shape[j].y)}
			}
			shapes = append(shapes, shape)
		}
	}
	if len(shapes) == 0 {
		return
	}
	e := st.halo + 1
	box := image.Rect(int(math.Floor(lo.x-e)), int(math.Floor(lo.y-e)), int(math.Ceil(hi.x+e)), int(math.Ceil(hi.y+e)))
	if st.halo > 0 {
		m := newMask(box.Intersect(within))
		for _, s := range shapes {
			m.line(flatten(s), 2*st.halo)
		}
		p.paint(m, white, 0.85)
	}
	p.fillShapes(shapes, box, within, st.color)
}

// fillShapes fills closed splines that lie inside box by the non-zero rule.
func (p *page) fillShapes(shapes [][]curvePoint, box, within image.Rectangle, c color.NRGBA) {
	if p.img == nil {
		return
	}
	z := vector.NewRasterizer(box.Dx(), box.Dy())
	fx := func(v float64) float32 { return float32(v - float64(box.Min.X)) }
	fy := func(v float64) float32 { return float32(v - float64(box.Min.Y)) }
	for _, s := range shapes {
		walk(s, func(a pt) { z.MoveTo(fx(a.x), fy(a.y)) },
			func(a pt) { z.LineTo(fx(a.x), fy(a.y)) },
			func(b, a pt) { z.QuadTo(fx(b.x), fy(b.y), fx(a.x), fy(a.y)) })
		z.ClosePath()
	}
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

// walk goes once round a closed spline.
func walk(s []curvePoint, move, line func(pt), quad func(control, to pt)) {
	n := len(s)
	mid := func(a, b curvePoint) pt { return pt{(a.x + b.x) / 2, (a.y + b.y) / 2} }
	first := 0
	for first < n && !s[first].on {
		first++
	}
	if first == n { // no point on the curve: begin between the last and the first
		move(mid(s[n-1], s[0]))
		first = -1
	} else {
		move(pt{s[first].x, s[first].y})
	}
	for i := 1; i <= n; i++ {
		c := s[(first+i+n)%n]
		if c.on {
			if s[(first+i-1+n)%n].on {
				line(pt{c.x, c.y})
			}
			continue
		}
		next := s[(first+i+1+n)%n]
		to := pt{next.x, next.y}
		if !next.on {
			to = mid(c, next)
		}
		quad(pt{c.x, c.y}, to)
	}
}

// flatten turns a closed spline into a closed polyline.
func flatten(s []curvePoint) []pt {
	var out []pt
	walk(s, func(a pt) { out = append(out, a) }, func(a pt) { out = append(out, a) },
		func(c, to pt) {
			from := out[len(out)-1]
			for _, t := range [3]float64{1. / 3, 2. / 3, 1} {
				out = append(out, along(along(from, c, t), along(c, to, t), t))
			}
		})
	return append(out, out[0])
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
