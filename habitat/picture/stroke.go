package picture

import (
	"image"
	"math"
)

// pt is a point in pixels, x to the right and y down.
type pt struct{ x, y float64 }

func (a pt) finite() bool {
	return !math.IsNaN(a.x-a.x) && !math.IsNaN(a.y-a.y) // ∞−∞ is NaN
}

func dist(a, b pt) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }

// mask is the coverage, 0–255, of the pixels of r by strokes of one style.
// Strokes join by the larger coverage, so that crossings, joints and halos of
// many short pieces come out as one shape.
type mask struct {
	r       image.Rectangle
	a       []uint8
	touched image.Rectangle // no coverage outside this
}

func newMask(r image.Rectangle) *mask {
	return &mask{r: r, a: make([]uint8, r.Dx()*r.Dy())}
}

// line strokes a polyline of the given width with round caps and joints.
func (m *mask) line(pts []pt, width float64) {
	if len(pts) == 1 {
		m.segment(pts[0], pts[0], width)
	}
	for i := 1; i < len(pts); i++ {
		m.segment(pts[i-1], pts[i], width)
	}
}

// segment covers every pixel by how much of it lies within width/2 of the
// segment, from the distance of its centre. Widths below one pixel are drawn
// one pixel wide and fainter.
func (m *mask) segment(a, b pt, width float64) {
	strength := 255.0
	if width < 1 {
		strength *= max(width, 0)
		width = 1
	}
	reach := width/2 + 0.5
	a, b, ok := clip(a, b, m.r, reach)
	if !ok {
		return
	}
	dx, dy := b.x-a.x, b.y-a.y
	l2 := dx*dx + dy*dy
	y0 := max(m.r.Min.Y, int(math.Floor(min(a.y, b.y)-reach)))
	y1 := min(m.r.Max.Y-1, int(math.Ceil(max(a.y, b.y)+reach)))
	for y := y0; y <= y1; y++ {
		cy := float64(y) + 0.5
		// The part of the segment that can reach this row bounds its columns.
		t0, t1 := 0.0, 1.0
		if dy != 0 {
			u, v := (cy-reach-a.y)/dy, (cy+reach-a.y)/dy
			t0, t1 = max(0, min(u, v)), min(1, max(u, v))
			if t0 > t1 {
				continue
			}
		}
		xa, xb := a.x+t0*dx, a.x+t1*dx
		x0 := max(m.r.Min.X, int(math.Floor(min(xa, xb)-reach)))
		x1 := min(m.r.Max.X-1, int(math.Ceil(max(xa, xb)+reach)))
		row := m.a[(y-m.r.Min.Y)*m.r.Dx():]
		for x := x0; x <= x1; x++ {
			cx := float64(x) + 0.5
			t := 0.0
			if l2 > 0 {
				t = min(max(((cx-a.x)*dx+(cy-a.y)*dy)/l2, 0), 1)
			}
			d := reach - math.Hypot(cx-a.x-t*dx, cy-a.y-t*dy)
			if d <= 0 {
				continue
			}
			if c := uint8(strength*min(d, 1) + 0.5); c > row[x-m.r.Min.X] {
				row[x-m.r.Min.X] = c
			}
		}
		if x1 >= x0 {
			m.touched = m.touched.Union(image.Rect(x0, y, x1+1, y+1))
		}
	}
}

// disc covers a filled circle.
func (m *mask) disc(c pt, radius float64) { m.segment(c, c, 2*radius) }

// clip cuts the segment to the rectangle grown by margin (Liang & Barsky
// 1984); far ends would cost time and lose precision. ok is false when
// nothing is left.
func clip(a, b pt, r image.Rectangle, margin float64) (pt, pt, bool) {
	if !a.finite() || !b.finite() {
		return a, b, false
	}
	t0, t1 := 0.0, 1.0
	dx, dy := b.x-a.x, b.y-a.y
	for _, e := range [4][2]float64{
		{-dx, a.x - (float64(r.Min.X) - margin)}, {dx, float64(r.Max.X) + margin - a.x},
		{-dy, a.y - (float64(r.Min.Y) - margin)}, {dy, float64(r.Max.Y) + margin - a.y},
	} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return a, b, false
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	if !(t0 <= t1) {
		return a, b, false
	}
	return pt{a.x + t0*dx, a.y + t0*dy}, pt{a.x + t1*dx, a.y + t1*dy}, true
}

// dashes strokes a polyline with the on and off lengths of pattern, in
// pixels, which repeat along it.
func (m *mask) dashes(pts []pt, width float64, pattern ...float64) {
	k, left := 0, pattern[0]
	for i := 1; i < len(pts); i++ {
		a, b, ok := clip(pts[i-1], pts[i], m.r, width)
		if !ok {
			continue
		}
		l := dist(a, b)
		for done := 0.0; done < l; {
			step := min(left, l-done)
			if k%2 == 0 {
				m.segment(along(a, b, done/l), along(a, b, (done+step)/l), width)
			}
			done += step
			if left -= step; left <= 0 {
				k = (k + 1) % len(pattern)
				left = pattern[k]
			}
		}
	}
}

func along(a, b pt, t float64) pt { return pt{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)} }
