package report

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"strconv"
	"strings"

	"rillwood/habitat/results"
)

// call says whom to ring in words: the poison line, or the emergency number.
func call(h results.Help) string {
	text := h.PoisonLine
	if h.Emergency != "" {
		text += " or " + h.Emergency
	}
	if h.Where != "" {
		text += " (" + h.Where + ")"
	}
	return strings.TrimPrefix(text, " or ")
}

// plainNumber is a telephone number and nothing else.
var plainNumber = regexp.MustCompile(`^\+?[0-9][0-9 ().-]{1,24}$`)

// dial is the address that rings a number on a telephone (RFC 3966), "" where
// the text is more than a number.
func dial(number string) template.URL {
	if !plainNumber.MatchString(number) {
		return ""
	}
	return template.URL("tel:" + strings.Map(func(r rune) rune {
		if r == '+' || r == '-' || '0' <= r && r <= '9' {
			return r
		}
		return -1
	}, number))
}

// streamNote says which streams the map leaves out, "" where it shows all.
func streamNote(shown, all int) string {
	if shown == all {
		return ""
	}
	return fmt.Sprintf("The map shows %d of %d streams, those of the highest order first, to keep this page small.", shown, all)
}

var monthNames = [12]string{"January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"}

// months says a season: October to May.
func months(list []int) string {
	for _, m := range list {
		if m < 1 || m > 12 {
			return ""
		}
	}
	switch len(list) {
	case 0:
		return ""
	case 1:
		return monthNames[list[0]-1]
	}
	return monthNames[list[0]-1] + " to " + monthNames[list[len(list)-1]-1]
}

// found says how many patches the list has, and of how many.
func found(run *results.Run) string {
	switch n := len(run.Candidates); {
	case n == 0:
		return "No ground reached the threshold, so there is no patch to show: lower shortlist.threshold in the survey, or take in more ground."
	case n == 1 && run.Found <= 1:
		return "One patch."
	case n >= run.Found:
		return fmt.Sprintf("All %d patches found.", n)
	default:
		return fmt.Sprintf("The best %d of %d patches.", n, run.Found)
	}
}

// number writes a figure for the page without scripts.
func number(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "–"
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
