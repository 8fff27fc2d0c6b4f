package terminal

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestWidth(t *testing.T) {
	for _, c := range []struct {
		text string
		want int
	}{
		{"", 0},
		{"Otter Fork", 10},
		{"Größe", 5},
		{"e\u0301", 1},                        // combining acute
		{"北の川", 6},                            // wide
		{"ﾊﾝｶｸ", 4},                           // halfwidth
		{"ＡＢ", 4},                             // fullwidth
		{"한강", 4},                             // Hangul syllables
		{"\u1112\u1161\u11ab", 2},             // the same as letters: one square
		{"🌲", 2},                              // emoji
		{"a\u200bb\u00adc", 3},                // nothing to see
		{"│█░", 3},                            // ambiguous: one, as in any Latin terminal
		{"\u0915\u094d\u0937", 2},             // Devanagari with virama
		{"\x1b[31m", 4},                       // what is left of an escape sequence
		{"\u0627\u0644\u0646\u0647\u0631", 5}, // Arabic
	} {
		if got := Width(c.text); got != c.want {
			t.Errorf("Width(%q) = %d, want %d", c.text, got, c.want)
		}
	}
}

func TestPlain(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"as it is", "Otter Fork", "Otter Fork"},
		{"blanks", " a \t b\r\n\u00a0c\u2028d ", "a b c d"},
		{"colour", "\x1b[31mred\x1b[0m", "[31mred[0m"},
		{"title of the window, bell", "\x1b]0;x\x07y", "]0;xy"},
		{"C1 escape", "\u009b31mred", "31mred"},
		{"turned direction", "a\u202etxt.exe\u2066", "atxt.exe"},
		{"nothing to see", "a\u200b\ufeff\u00adb", "ab"},
		{"joiners stay", "\u0646\u0645\u06cc\u200c\u062e", "\u0646\u0645\u06cc\u200c\u062e"},
		{"not UTF-8", "a\xffb", "a\ufffdb"},
		{"nothing", "\x00\x1b", ""},
	} {
		if got := Plain(c.text); got != c.want {
			t.Errorf("%s: Plain(%q) = %q, want %q", c.name, c.text, got, c.want)
		}
	}
}

func TestPath(t *testing.T) {
	for text, want := range map[string]string{
		"/a/two  blanks/out": "/a/two  blanks/out",
		"/a/北/out":           "/a/北/out",
		"/a/\x1b[2J/out":     `"/a/\x1b[2J/out"`,
		"/a/line\nend":       `"/a/line\nend"`,
		"/a/\u202etxt.exe":   `"/a/\u202etxt.exe"`,
	} {
		if got := Path(text); got != want {
			t.Errorf("Path(%q) = %s, want %s", text, got, want)
		}
	}
}

func TestClipAndPad(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, n := Plain(rapid.String().Draw(t, "s")), rapid.IntRange(0, 40).Draw(t, "n")
		clipped := Clip(s, n)
		if Width(clipped) > n {
			t.Errorf("Clip(%q, %d) = %q takes %d columns", s, n, clipped, Width(clipped))
		}
		if Width(s) <= n && clipped != s {
			t.Errorf("Clip(%q, %d) = %q though it fits", s, n, clipped)
		}
		if head, cut := strings.CutSuffix(clipped, "…"); cut && clipped != s && (!strings.HasPrefix(s, head) || Width(clipped) < n-1) {
			t.Errorf("Clip(%q, %d) = %q is not as much of its beginning as fits", s, n, clipped)
		}
		if !utf8.ValidString(clipped) {
			t.Errorf("Clip(%q, %d) = %q cuts a character", s, n, clipped)
		}
		if l, r := Left(s, n), Right(s, n); Width(l) != n || Width(r) != n || strings.TrimRight(l, " ") != strings.TrimRight(clipped, " ") || strings.TrimLeft(r, " ") != strings.TrimLeft(clipped, " ") {
			t.Errorf("Left %q, Right %q of %q in %d", l, r, s, n)
		}
	})
}

func TestPlainIsPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) })).Draw(t, "s")
		p := Plain(s)
		if Plain(p) != p {
			t.Errorf("Plain(%q) = %q, and of that %q", s, p, Plain(p))
		}
		for _, r := range p {
			if unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) || r == '\u2028' || r == '\u2029' {
				t.Errorf("Plain(%q) = %q holds %U", s, p, r)
			}
		}
	})
}

func TestWrap(t *testing.T) {
	const want = "  note 北の川 two\n       three\n       averyverylongword\n       x\n"
	if got := Wrap("  note ", "北の川  two three averyverylongword x", 18); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got := Wrap("a: ", "", 20); got != "a: \n" {
		t.Errorf("of nothing: %q", got)
	}
}

// Wide characters are those of Python's copy of the Unicode Character
// Database (unicodedata.east_asian_width), as far as that knows them.
func TestWideAgainstPython(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("python3 is not installed: wide characters are not compared with its unicodedata")
	}
	const script = `
import json, unicodedata
print(json.dumps([[c, unicodedata.east_asian_width(chr(c)) in "WF" and not (0x1160 <= c <= 0x11ff)]
  for c in range(0x20, 0x30000) if unicodedata.category(chr(c)) not in ("Cn", "Co", "Cs", "Cc", "Cf", "Mn", "Me")]))`
	out, err := exec.Command(python, "-c", script).Output()
	if err != nil {
		t.Fatal(err)
	}
	var all [][2]any
	if err := json.Unmarshal(out, &all); err != nil {
		t.Fatal(err)
	}
	if len(all) < 100000 {
		t.Fatalf("only %d characters", len(all))
	}
	wide := 0
	for _, c := range all {
		r, want := rune(c[0].(float64)), c[1].(bool)
		// Made wide by Unicode 16 (2024): Yijing symbols, Tai Xuan Jing, digrams.
		if r >= 0x2630 && r <= 0x2637 || r >= 0x268a && r <= 0x268f || r >= 0x4dc0 && r <= 0x4dff || r >= 0x1d300 && r <= 0x1d356 || r >= 0x1d360 && r <= 0x1d376 {
			continue
		}
		if got := runeWidth(r); got == 2 != want && got != 0 {
			t.Errorf("%U %q: %d columns, wide by unicodedata: %v", r, r, got, want)
		}
		if want {
			wide++
		}
	}
	t.Logf("%d characters compared, %d of them wide", len(all), wide)
}
