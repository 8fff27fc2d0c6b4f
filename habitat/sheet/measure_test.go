package sheet

import (
	"os"
	"strings"
	"testing"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"
)

// The table of widths is the font's own, rounded to a hundredth.
func TestLetterWidthsAgainstTheFont(t *testing.T) {
	for file, table := range map[string]*[95]uint8{"DejaVuSans.ttf": &letters, "DejaVuSans-Bold.ttf": &boldLetters} {
		data, err := os.ReadFile("/usr/share/fonts/truetype/dejavu/" + file)
		if err != nil {
			t.Skipf("%s is missing: run scripts/install test", file)
		}
		f, err := sfnt.Parse(data)
		if err != nil {
			t.Fatal(err)
		}
		var b sfnt.Buffer
		for r := ' '; r <= '~'; r++ {
			g, err := f.GlyphIndex(&b, r)
			if err != nil {
				t.Fatal(err)
			}
			a, err := f.GlyphAdvance(&b, g, fixed.I(1000), font.HintingNone)
			if err != nil {
				t.Fatal(err)
			}
			if want := (a.Round() + 5) / 10; int(table[r-' ']) != want {
				t.Errorf("%s: %q is %d wide, the font says %d", file, r, table[r-' '], want)
			}
		}
	}
}

func TestWrapped(t *testing.T) {
	m := piece{"m", false}.wide(10) // 0.97 of 10 pt
	if got, want := m, 0.97*10*25.4/72; got < want-1e-9 || got > want+1e-9 {
		t.Errorf("an m of 10 pt is %v mm wide, want %v", got, want)
	}
	for _, c := range []struct {
		text string
		mm   float64
		want int
	}{
		{"", 10, 0}, {"m", m, 1}, {"m m", m, 2}, {"m m", 2*m + piece{" ", false}.wide(10), 1}, {"mmmm", 2.5 * m, 2}, {" m  m ", m, 2},
	} {
		if got := wrapped(c.mm, 10, piece{c.text, false}); got != c.want {
			t.Errorf("%q on %.1f mm takes %d lines, want %d", c.text, c.mm, got, c.want)
		}
	}
}

// Columns hold all, and neither can be shorter with the items in turn.
func TestColumns(t *testing.T) {
	for _, c := range []struct {
		items []float64
		want  float64
	}{{nil, 0}, {[]float64{3}, 3}, {[]float64{3, 3}, 3}, {[]float64{1, 2, 3}, 3}, {[]float64{5, 1, 1}, 5}, {[]float64{1, 1, 5}, 5}, {[]float64{2, 2, 2}, 4}} {
		if got := columns(c.items); got != c.want {
			t.Errorf("%v: %v, want %v", c.items, got, c.want)
		}
	}
}

// Whatever a layer brings: plain text is valid, on one line, without control
// or direction marks, and stays as it is when cleaned again.
func TestPlainText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")) + rapid.String().Draw(t, "text")
		p := plain(s)
		if !utf8.ValidString(p) || strings.ContainsAny(p, "\x00\x1b\r\n\t\u202e\u2066\ufeff\u2028\u200b\ufffe") {
			t.Fatalf("%q becomes %q", s, p)
		}
		if plain(p) != p {
			t.Fatalf("%q becomes %q, and that %q", s, p, plain(p))
		}
		if got := utf8.RuneCountInString(short(s, 20)); got > 20 {
			t.Fatalf("short(%q, 20) has %d characters", s, got)
		}
	})
	for in, want := range map[string]string{"  a\tb\r\n c ": "a b c", "Größe 小川 🌲": "Größe 小川 🌲", "\u202eturned": "turned", "a\xffb": "a�b", "x\x1b[31m": "x[31m"} {
		if got := plain(in); got != want {
			t.Errorf("plain(%q) = %q, want %q", in, got, want)
		}
	}
}
