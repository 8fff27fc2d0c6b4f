package habitat

import (
	"fmt"
	"math"
	"strings"
	"unicode"
)

// plainClause makes a text from a file fit for the inside of a sentence: one
// line, no mark that ends a sentence or a clause but the comma, none at the
// end. A text that is fit already comes back unchanged.
func plainClause(s string) string {
	for {
		before := s
		var words []string
		for _, w := range strings.Fields(printable(s)) {
			w = strings.TrimLeft(w, ".;!?,:")
			bare := strings.TrimRight(w, ".;!?,")
			if bare == "" {
				continue
			}
			if bare != w {
				bare += ","
			}
			words = append(words, bare)
		}
		s = undoubled(strings.TrimRight(strings.Join(words, " "), ",:"))
		if s == before {
			return s
		}
	}
}

// plainName makes a name from a layer one line of at most 40 characters.
func plainName(s string) string {
	s = undoubled(strings.Join(strings.Fields(printable(s)), " "))
	return strings.TrimRight(clip(s, 40), " ,;:")
}

func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}

// undoubled leaves one of several commas or full stops in a row, and none
// after a space.
func undoubled(s string) string {
	for _, twice := range []string{",,", "..", " ,", " ."} {
		for strings.Contains(s, twice) {
			s = strings.ReplaceAll(s, twice, twice[1:])
		}
	}
	return s
}

// known tells whether a number is one.
func known(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// metres rounds a length the way one would say it.
func metres(m float64) string {
	switch {
	case m < 10:
		return fmt.Sprintf("%.1f m", m)
	case m < 100:
		return fmt.Sprintf("%.0f m", m)
	case m < 995:
		return fmt.Sprintf("%.0f m", math.Round(m/10)*10)
	}
	return fmt.Sprintf("%.1f km", m/1000)
}
