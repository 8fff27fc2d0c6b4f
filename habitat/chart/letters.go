package chart

import (
	"strings"
	"unicode"
)

// wideness is how wide words are at most, in units of their letters' size, in
// the wide faces that pages fall back to (DejaVu Sans; from memory, held
// against a browser in browser_test.go).
func wideness(s string) (w float64) {
	for _, r := range s {
		w += letter(r)
	}
	return w
}

func letter(r rune) float64 {
	switch {
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		return 0
	case unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul):
		return 1
	case r >= 0x1F000:
		return 1.4
	case strings.ContainsRune(".,:;'|ijl ", r):
		return 0.35
	case strings.ContainsRune("mwMW@%", r):
		return 1
	case unicode.IsUpper(r), r > 0x2000:
		return 0.8
	}
	return 0.65
}

// clip shortens words to a width in units of their letters' size.
func clip(s string, room float64) string {
	if wideness(s) <= room {
		return s
	}
	room -= letter('…')
	for i, r := range s {
		if room -= letter(r); room < 0 {
			return s[:i] + "…"
		}
	}
	return s
}
