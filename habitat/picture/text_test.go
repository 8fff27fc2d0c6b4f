package picture

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"
)

// black sets one character alone on white and tells where it is dark: the
// bounds of its pixels and the sum of their darkness, in pixels.
func black(st style, r rune, s spot) (image.Rectangle, float64) {
	p := &page{img: image.NewNRGBA(image.Rect(0, 0, 400, 400))}
	p.fill(p.img.Rect, white)
	st.color = color.NRGBA{A: 255}
	p.glyphs(st, []rune{r}, []spot{s}, p.img.Rect)
	var b image.Rectangle
	sum := 0.0
	for y := range 400 {
		for x := range 400 {
			if v := 255 - p.img.NRGBAAt(x, y).R; v > 0 {
				sum += float64(v) / 255
				if v > 127 {
					b = b.Union(image.Rect(x, y, x+1, y+1))
				}
			}
		}
	}
	return b, sum
}

// Bounds in font units, 2048 to the em, as they stand in the glyf tables of
// the Go fonts, y up: left, bottom, right, top.
func TestLettersStandWhereTheFontSays(t *testing.T) {
	fs := loadFaces()
	const size = 204.8 // ten font units a pixel
	for _, c := range []struct {
		name   string
		f      *face
		r      rune
		bounds [4]float64
	}{
		{"regular", fs.regular, 'H', [4]float64{165, 0, 1313, 1480}},
		{"regular", fs.regular, 'g', [4]float64{93, -420, 991, 1110}},
		{"regular", fs.regular, 'Å', [4]float64{19, 0, 1342, 1935}},
		{"regular", fs.regular, '×', [4]float64{108, 102, 1088, 1082}},
		{"regular", fs.regular, 'Ж', [4]float64{125, 0, 1767, 1481}},
		{"regular", fs.regular, '漢', [4]float64{256, 0, 1280, 1280}}, // the empty box
		{"bold", fs.bold, 'é', [4]float64{74, -25, 1031, 1604}},
		{"bold", fs.bold, '…', [4]float64{181, 0, 1867, 321}},
		{"italic", fs.italic, 'ω', [4]float64{196, -25, 1639, 1086}},
	} {
		st := style{face: c.f, size: size}
		near := func(what string, got image.Rectangle, want [4]float64) {
			t.Helper()
			for i, v := range [4]int{got.Min.X, got.Min.Y, got.Max.X, got.Max.Y} {
				if math.Abs(float64(v)-want[i]) > 1.6 { // tips thinner than a pixel are faint
					t.Errorf("%s %q %s: drawn on %v, want %v", c.name, c.r, what, got, want)
					return
				}
			}
		}
		l, lo, r, hi := c.bounds[0]/10, c.bounds[1]/10, c.bounds[2]/10, c.bounds[3]/10
		got, ink := black(st, c.r, spot{pt{150, 250}, 1, 0})
		near("upright", got, [4]float64{150 + l, 250 - hi, 150 + r, 250 - lo})
		// A quarter turn: the letter climbs down the page, its top to the right.
		got, turned := black(st, c.r, spot{pt{150, 150}, 0, 1})
		near("turned", got, [4]float64{150 + lo, 150 + l, 150 + hi, 150 + r})
		if math.Abs(ink-turned) > 0.01*ink {
			t.Errorf("%s %q: %.0f pixels of ink upright, %.0f turned", c.name, c.r, ink, turned)
		}
	}
}

// An H is two posts and a bar, an O is open in the middle.
func TestLettersAreFilledInside(t *testing.T) {
	st := style{face: loadFaces().regular, size: 204.8}
	st.color = ink
	at := func(r rune, x, y float64) color.NRGBA {
		p := &page{img: image.NewNRGBA(image.Rect(0, 0, 400, 400))}
		p.fill(p.img.Rect, white)
		p.glyphs(st, []rune{r}, []spot{{pt{100, 300}, 1, 0}}, p.img.Rect)
		return p.img.NRGBAAt(int(100+x*st.size), int(300-y*st.size))
	}
	for _, c := range []struct {
		r     rune
		x, y  float64
		black bool
	}{
		{'H', 0.11, 0.1, true}, {'H', 0.36, 0.1, false}, {'H', 0.36, 0.38, true}, {'H', 0.36, 0.6, false}, {'H', 0.6, 0.6, true},
		{'O', 0.4, 0.36, false}, {'O', 0.4, 0.7, true}, {'O', 0.4, 0.02, true}, {'O', 0.03, 0.7, false},
	} {
		if got := at(c.r, c.x, c.y) == ink; got != c.black {
			t.Errorf("%q at %g, %g em: black is %v", c.r, c.x, c.y, got)
		}
	}
}

func TestHalo(t *testing.T) {
	st := style{face: loadFaces().bold, size: 200, halo: 8, color: ink}
	p := &page{img: image.NewNRGBA(image.Rect(0, 0, 300, 300))}
	p.fill(p.img.Rect, water)
	p.glyphs(st, []rune{'I'}, []spot{{pt{100, 250}, 1, 0}}, p.img.Rect)
	y, first := 180, -1 // the middle of the post
	for x := range 300 {
		if p.img.NRGBAAt(x, y) == ink {
			first = x
			break
		}
	}
	if first < 0 {
		t.Fatal("no letter drawn")
	}
	edge := mix(water, white, 0.85)
	if c := p.img.NRGBAAt(first-4, y); max(c.R, edge.R)-min(c.R, edge.R) > 1 || max(c.B, edge.B)-min(c.B, edge.B) > 1 {
		t.Errorf("beside the letter %v, want the light edge, %v", c, edge)
	}
	if c := p.img.NRGBAAt(first-11, y); c != water {
		t.Errorf("off the letter %v, want the ground", c)
	}
}

// The hyphen is narrowed, whatever was set before it and by whichever
// character the font reaches it.
func TestHyphenIsNoDash(t *testing.T) {
	const soft = '\u00ad'
	for _, order := range []string{"-\u00ad", "\u00ad-"} {
		f := loadFaces().regular
		st := style{face: f, size: 100}
		for _, r := range order {
			st.width(string(r))
		}
		if f.index('-') == f.index(soft) && st.width("-") != st.width(string(soft)) {
			t.Errorf("one glyph is %.1f and %.1f pixels wide", st.width("-"), st.width(string(soft)))
		}
		if h, d := st.width("-"), st.width("–"); h > 0.75*d {
			t.Errorf("after %q: hyphen is %.1f pixels wide, dash %.1f", order, h, d)
		}
	}
}

func TestWrapAndFit(t *testing.T) {
	st := style{face: loadFaces().regular, size: 20}
	text := "Deadly look-alike on the same wood in the same months"
	lines := st.wrap(text, 150)
	if len(lines) < 3 || strings.Join(lines, " ") != text {
		t.Errorf("wrapped to %q", lines)
	}
	for _, l := range lines {
		if st.width(l) > 150 {
			t.Errorf("line %q is %.0f pixels wide", l, st.width(l))
		}
	}
	if got := st.fit(text, 150); st.width(got) > 150 || !strings.HasSuffix(got, "…") || !strings.HasPrefix(text, strings.TrimSuffix(got, "…")) {
		t.Errorf("fitted to %q", got)
	}
	if got := st.fit("short", 150); got != "short" {
		t.Errorf("fitted to %q", got)
	}
}
