package terminal

import (
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/width"
)

// Width is how many columns a line of text takes: two for wide and fullwidth
// characters (Unicode Standard Annex 11), none for marks that stand on the
// character before them, one for any other. Ambiguous characters count one.
func Width(s string) int {
	n := 0
	for _, r := range s {
		n += runeWidth(r)
	}
	return n
}

func runeWidth(r rune) int {
	switch {
	case r < 0x20, r >= 0x7f && r < 0xa0: // control characters move no column that can be told
		return 0
	case r < 0x300:
		if r == 0xad {
			return 0 // soft hyphen
		}
		return 1
	// Vowels and finals of Hangul stand in the square of the first letter.
	case r >= 0x1160 && r <= 0x11ff, unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	}
	switch width.LookupRune(r).Kind() {
	case width.EastAsianWide, width.EastAsianFullwidth:
		return 2
	}
	return 1
}

// Clip cuts a line to at most n columns; what was cut ends in "…".
func Clip(s string, n int) string {
	if Width(s) <= n {
		return s
	}
	if n < 1 {
		return ""
	}
	var b strings.Builder
	left := n - 1
	for _, r := range s {
		if left -= runeWidth(r); left < 0 {
			break
		}
		b.WriteRune(r)
	}
	return b.String() + "…"
}

// Left makes a line exactly n columns wide, cut or with blanks behind it.
func Left(s string, n int) string {
	s = Clip(s, n)
	return s + strings.Repeat(" ", max(0, n-Width(s)))
}

// Right makes a line exactly n columns wide, cut or with blanks before it.
func Right(s string, n int) string {
	s = Clip(s, n)
	return strings.Repeat(" ", max(0, n-Width(s))) + s
}

// Line makes one line of a text from anywhere that is safe to send to a
// terminal: no control characters, so no escape sequences; nothing that turns
// the direction of writing; nothing invisible but the joiners some scripts are
// written with. Line ends and tabs become spaces.
func Line(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case r == '\u200c' || r == '\u200d': // joiners of Persian, Indic scripts, emoji
		case unicode.In(r, unicode.Cc, unicode.Cf, unicode.Cs, unicode.Zl, unicode.Zp):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}

// Plain is Line with the blanks between words made single and none at the ends.
func Plain(s string) string { return strings.Join(strings.Fields(Line(s)), " ") }

// Path is the name of a file as it can be copied from a terminal: as it is, or
// quoted where it holds what Line would change.
func Path(s string) string {
	if Line(s) == s {
		return s
	}
	return strconv.QuoteToGraphic(s)
}
