package report

import (
	"math"
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

// number writes a figure for the page without scripts.
func number(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "–"
	}
	return strconv.FormatFloat(v, 'f', decimals, 64)
}
