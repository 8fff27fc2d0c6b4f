package season

import (
	"fmt"
	"strings"
	"time"
)

// Words of the rule, one line a condition.
func (r *Rule) Words() []string {
	var out []string
	var months []string
	for _, m := range r.Months {
		months = append(months, monthName(m))
	}
	out = append(out, "months: "+strings.Join(months, " "))
	if f := r.Freeze; f != nil {
		out = append(out, fmt.Sprintf("frost before: a night of %g °C or less within %d days", f.TminAtMostC, f.WithinDays))
	}
	if m := r.Mild; m != nil {
		night := ""
		if m.TminAtLeastC != nil {
			night = fmt.Sprintf(", nights of %g °C or more", *m.TminAtLeastC)
		}
		out = append(out, fmt.Sprintf("mild: %s of %g °C or more%s", inARow(m.Days), m.TmaxAtLeastC, night))
	}
	if w := r.Wet; w != nil {
		var ways []string
		if w.RainAtLeastMM != nil {
			ways = append(ways, fmt.Sprintf("%g mm of rain", *w.RainAtLeastMM))
		}
		if w.MeltAtLeastMM != nil {
			ways = append(ways, fmt.Sprintf("%g mm of snow depth gone", *w.MeltAtLeastMM))
		}
		out = append(out, fmt.Sprintf("wet: %s within %d days", strings.Join(ways, " or "), w.WithinDays))
	}
	if c := r.Cool; c != nil {
		out = append(out, fmt.Sprintf("not too warm: %g °C at most", c.TmaxAtMostC))
	}
	if d := r.DegreeDays; d != nil {
		cut := ""
		if d.CutoffC != nil {
			cut = fmt.Sprintf(", up to %g °C", *d.CutoffC)
		}
		out = append(out, fmt.Sprintf("warmth gathered: %g to %g degree-days above %g °C%s since %s (%s)", d.Low, d.High, d.BaseC, cut, d.Start, d.Method))
	}
	return out
}

func inARow(n int) string {
	if n == 1 {
		return "a day"
	}
	return fmt.Sprintf("%d days in a row", n)
}

func monthName(m int) string { return time.Month(m).String()[:3] }
