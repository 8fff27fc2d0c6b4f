package picture

import (
	"math"
	"strings"
	"testing"
)

// Glyph numbers, advances, bounds and numbers of contours in font units, as
// golang.org/x/image/font/sfnt v0.47.0 reads them at 2048 pixels per em. (All
// 707 characters of the three fonts were compared with it in this way.)
func TestGlyphsAgainstReference(t *testing.T) {
	fs := loadFaces()
	for _, c := range []struct {
		name     string
		f        *face
		r        rune
		index    uint16
		advance  float64
		bounds   [4]float64
		contours int
	}{
		{"regular", fs.regular, 'H', 43, 1479, [4]float64{165, -1480, 1313, 0}, 1},
		{"regular", fs.regular, 'g', 74, 1139, [4]float64{93, -1110, 991, 420}, 2},
		{"regular", fs.regular, 'Å', 135, 1366, [4]float64{19, -1935, 1342, 0}, 3},
		{"regular", fs.regular, '×', 153, 1196, [4]float64{108, -1082, 1088, -102}, 1},
		{"regular", fs.regular, 'Ж', 453, 1891, [4]float64{125, -1481, 1767, 0}, 1},
		{"regular", fs.regular, '漢', 0, 1536, [4]float64{256, -1280, 1280, 0}, 2},
		{"bold", fs.bold, 'g', 74, 1251, [4]float64{80, -1123, 1103, 420}, 2},
		{"bold", fs.bold, 'é', 171, 1139, [4]float64{74, -1604, 1031, 25}, 3},
		{"bold", fs.bold, '…', 551, 2048, [4]float64{181, -321, 1867, 0}, 3},
		{"italic", fs.italic, 'H', 43, 1501, [4]float64{176, -1480, 1619, 0}, 1},
		{"italic", fs.italic, 'ω', 425, 1621, [4]float64{196, -1086, 1639, 25}, 1},
		{"italic", fs.italic, 'é', 171, 1161, [4]float64{155, -1604, 1251, 25}, 3},
	} {
		g := c.f.glyph(c.r)
		b := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
		for _, k := range g.contours {
			for _, q := range k {
				b = [4]float64{min(b[0], q.x), min(b[1], q.y), max(b[2], q.x), max(b[3], q.y)}
			}
		}
		if c.f.index(c.r) != c.index || g.advance*2048 != c.advance || len(g.contours) != c.contours {
			t.Errorf("%s %q: glyph %d, advance %g, %d contours; want %d, %g, %d", c.name, c.r, c.f.index(c.r), g.advance*2048, len(g.contours), c.index, c.advance, c.contours)
		}
		for i := range b {
			if math.Abs(b[i]*2048-c.bounds[i]) > 1 {
				t.Errorf("%s %q: bound %d is %g, want %g", c.name, c.r, i, b[i]*2048, c.bounds[i])
			}
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
