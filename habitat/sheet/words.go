package sheet

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"unicode"

	"rillwood/habitat/results"
)

// plain takes out what a text from a layer could do to the page it is printed
// on: control characters and those that turn the direction of reading. Spaces
// become one space.
func plain(s string) string {
	s = strings.ToValidUTF8(s, "�")
	s = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsSpace(r):
			return ' '
		case unicode.IsControl(r), unicode.Is(unicode.Cf, r), r >= 0xfff0 && r != '�', unicode.Is(unicode.Zl, r), unicode.Is(unicode.Zp, r):
			if r > 0xffff && !unicode.Is(unicode.Cf, r) {
				return r
			}
			return -1
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// short is a plain text of at most n characters.
func short(s string, n int) string { return results.Clip(plain(s), n) }

// functions are what the pages write texts from files by.
var functions = template.FuncMap{"short": short}

// shortList joins texts, at most n characters in all; those that find no room
// are counted.
func shortList(list []string, separator string, n int) string {
	var b strings.Builder
	for i, s := range list {
		s = short(s, n)
		if i > 0 && b.Len()+len(separator)+len(s) > n {
			fmt.Fprintf(&b, " and %d more", len(list)-i)
			break
		}
		if i > 0 {
			b.WriteString(separator)
		}
		b.WriteString(s)
	}
	return b.String()
}

// call says whom to ring: the poison line, or the emergency number.
func call(h results.Help) string {
	text := h.PoisonLine
	if h.Emergency != "" {
		if text != "" {
			text += " or "
		}
		text += h.Emergency
	}
	if text != "" && h.Where != "" {
		text += " (" + h.Where + ")"
	}
	return text
}

// figure is a number, or a dash where none is known. Large ones are whole.
func figure(v float64, decimals int) string {
	if math.Abs(v) >= 1000 {
		decimals = 0
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf("%.*f", decimals, v)
}

// span is a number with the interval it lies in.
func span(v, low, high float64, decimals int) string {
	s := figure(v, decimals)
	if !math.IsNaN(low) && !math.IsNaN(high) {
		s += " (" + figure(low, decimals) + "–" + figure(high, decimals) + ")"
	}
	return s
}
