package picture

import (
	"image"
	"image/color"
	"math"
)

// Colours of the page. Marks on the map are told apart by lightness first and
// by the blue–orange axis second, which all common kinds of colour blindness
// keep.
var (
	paper    = color.NRGBA{0xfb, 0xfa, 0xf5, 255}
	ink      = color.NRGBA{0x18, 0x20, 0x24, 255}
	muted    = color.NRGBA{0x55, 0x5d, 0x60, 255}
	hair     = color.NRGBA{0xc9, 0xc7, 0xbe, 255}
	white    = color.NRGBA{0xff, 0xff, 0xff, 255}
	water    = color.NRGBA{0x0b, 0x5c, 0xb8, 255}
	waterInk = color.NRGBA{0x06, 0x3c, 0x7d, 255}
	patch    = color.NRGBA{0xb8, 0x3a, 0x00, 255} // dark vermilion
	caution  = color.NRGBA{0xff, 0xc8, 0x3d, 255}
)

// mix goes from a to b as t goes from 0 to 1; the result is opaque.
func mix(a, b color.NRGBA, t float64) color.NRGBA {
	f := func(x, y uint8) uint8 { return uint8(math.Round(float64(x) + t*(float64(y)-float64(x)))) }
	return color.NRGBA{f(a.R, b.R), f(a.G, b.G), f(a.B, b.B), 255}
}

// blend lays c with coverage a (0–255) over the opaque pixel at (x, y).
func blend(img *image.NRGBA, x, y int, c color.NRGBA, a uint8) {
	if a == 0 {
		return
	}
	p := img.Pix[img.PixOffset(x, y):]
	p = p[:4:4]
	k, r := uint32(a), uint32(255-a)
	p[0] = uint8((uint32(p[0])*r + uint32(c.R)*k + 127) / 255)
	p[1] = uint8((uint32(p[1])*r + uint32(c.G)*k + 127) / 255)
	p[2] = uint8((uint32(p[2])*r + uint32(c.B)*k + 127) / 255)
	p[3] = 255
}

// row is the bytes of the pixels x0 to x1 (not included) of row y.
func (p *page) row(x0, x1, y int) []uint8 {
	return p.img.Pix[p.img.PixOffset(x0, y):p.img.PixOffset(x1, y)]
}

// set paints pixel x of a row.
func set(row []uint8, x int, c color.NRGBA) {
	q := row[4*x : 4*x+4 : 4*x+4]
	q[0], q[1], q[2], q[3] = c.R, c.G, c.B, c.A
}

// fill paints a rectangle. A page without an image (one being measured)
// takes all drawing calls and ignores them.
func (p *page) fill(r image.Rectangle, c color.NRGBA) {
	if p.img == nil {
		return
	}
	r = r.Intersect(p.img.Rect)
	if r.Empty() {
		return
	}
	first := p.row(r.Min.X, r.Max.X, r.Min.Y)
	for x := range r.Dx() {
		set(first, x, c)
	}
	for y := r.Min.Y + 1; y < r.Max.Y; y++ {
		copy(p.row(r.Min.X, r.Max.X, y), first)
	}
}

// frame draws the edge of r, t pixels thick, outside it.
func (p *page) frame(r image.Rectangle, t int, c color.NRGBA) {
	o := r.Inset(-t)
	p.fill(image.Rect(o.Min.X, o.Min.Y, o.Max.X, r.Min.Y), c)
	p.fill(image.Rect(o.Min.X, r.Max.Y, o.Max.X, o.Max.Y), c)
	p.fill(image.Rect(o.Min.X, r.Min.Y, r.Min.X, r.Max.Y), c)
	p.fill(image.Rect(r.Max.X, r.Min.Y, o.Max.X, r.Max.Y), c)
}

// hatched is 1 where the pixel, of a page that begins at 0, lies on a line of
// the diagonal hatch that marks ground outside the area or without data, else
// 0; pitch is in pixels.
func hatched(x, y, pitch int) int {
	if (x+y)%pitch < max(1, pitch/8) {
		return 1
	}
	return 0
}

// paint lays colour c through the mask.
func (p *page) paint(m *mask, c color.NRGBA, opacity float64) {
	if p.img == nil {
		return
	}
	r := m.touched.Intersect(p.img.Rect)
	k := uint32(math.Round(255 * min(max(opacity, 0), 1)))
	for y := r.Min.Y; y < r.Max.Y; y++ {
		at := (y-m.r.Min.Y)*m.r.Dx() - m.r.Min.X
		for i, a := range m.a[at+r.Min.X : at+r.Max.X] {
			if a != 0 { // most of a map is bare of any one mark
				blend(p.img, r.Min.X+i, y, c, uint8((uint32(a)*k+127)/255))
			}
		}
	}
}
