package field

import (
	"strings"
	"unicode"
)

// maxText is the length of a text of a record, in bytes.
const maxText = 2000

// Clean makes one line of a text: control characters, line breaks and marks
// that turn the direction of writing become spaces, runs of spaces one, bytes
// that are not UTF-8 U+FFFD, and what is beyond 2000 bytes is cut off.
func Clean(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' || r == '\ufeff' {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > maxText {
		s = strings.TrimSpace(strings.ToValidUTF8(s[:maxText], ""))
	}
	return s
}

// formulaMarks begin what a spreadsheet would run as a formula, their wide
// forms included (OWASP, CSV Injection; tab and return cannot stand in a
// cleaned text).
const formulaMarks = "=+-@＝＋－＠"

// guard puts an apostrophe before a text that a spreadsheet would take for a
// formula. Texts that begin with apostrophes and such a mark get one more, so
// that unguard gives every text back as it was.
func guard(s string) string {
	if t := strings.TrimLeft(s, "'"); t != "" && strings.ContainsRune(formulaMarks, []rune(t)[0]) {
		return "'" + s
	}
	return s
}

func unguard(s string) string {
	t := strings.TrimLeft(s, "'")
	if len(t) < len(s) && t != "" && strings.ContainsRune(formulaMarks, []rune(t)[0]) {
		return s[1:]
	}
	return s
}

// clipped is a text for a message: one line, not long.
func clipped(s string) string {
	r := []rune(Clean(s))
	if len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return string(r)
}
