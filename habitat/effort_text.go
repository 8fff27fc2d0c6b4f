package habitat

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Text is the answer for a person, in lines of at most 80 columns.
func (a *EffortAnswer) Text() string {
	var b strings.Builder
	say := func(format string, args ...any) {
		// A number and its sign stay on one line: they are one word while lines are
		// cut, held together by a letter for private use, one column wide.
		var lines strings.Builder
		wrapInto(&lines, "", strings.ReplaceAll(fmt.Sprintf(format, args...), " %", "\ue000%"))
		b.WriteString(strings.ReplaceAll(lines.String(), "\ue000%", " %"))
	}
	sure := percentAsGiven(a.Confidence)
	doubt := ""
	if r := a.Before; r.Beta != nil {
		doubt = fmt.Sprintf(", believed as if %s trees had been looked at (%s sure it is between %s and %s)",
			strconv.FormatFloat(r.Beta[0]+r.Beta[1], 'g', 4, 64), sure, percent(r.Interval[0]), percent(r.Interval[1]))
	}
	say("%s: %s of the dead or dying trees carry it in season%s.", upperFirst(a.Of), percent(a.Before.Rate)+a.Before.aside(a.Before.upper()), doubt)
	if a.Seen != nil {
		b.WriteByte('\n')
		a.seenText(say)
	}
	b.WriteByte('\n')
	say("%s", a.planText())
	b.WriteByte('\n')
	a.tableText(&b)
	b.WriteByte('\n')
	say("%s", a.Assumed)
	say("%s", a.Caution)
	return b.String()
}

// planText says how many trees to check.
func (a *EffortAnswer) planText() string {
	t, chance, rate := a.Trees, percentAsGiven(a.Confidence)+" chance", percent(a.Now.Rate)
	if t.Fixed == nil {
		return fmt.Sprintf("No number of trees up to %d gives a %s of one find at %s.", MaxTrees, chance, rate)
	}
	check, doubt := "Check ", "."
	if a.Seen != nil {
		check = "From now on, check "
	}
	switch {
	case a.Now.Beta == nil:
	case t.Uncertain == nil:
		doubt = fmt.Sprintf("; with its doubt counted in, not even %d are enough.", MaxTrees)
	default:
		doubt = fmt.Sprintf("; %d with its doubt counted in.", *t.Uncertain)
	}
	return check + howMany(*t.Fixed, "tree") + " for a " + chance + " of at least one find, were the rate just " + rate + doubt
}

func (a *EffortAnswer) seenText(say func(string, ...any)) {
	s, sure := a.Seen, percentAsGiven(a.Confidence)
	if s.Found > 0 {
		say("Looked at: %s, %s. On their own they put the rate between %s and %s, %s sure (exact, Clopper and Pearson).",
			howMany(s.Checked, "tree"), howMany(s.Found, "find"), percent(s.Interval[0]), percent(s.Interval[1]), sure)
	} else {
		say("Looked at: %s, no find. On their own they put the rate below %s, %s sure (exact, one-sided, Clopper and Pearson).",
			howMany(s.Checked, "tree"), percent(*s.Below), sure)
		with := "."
		if s.WouldDoubtful != nil {
			with = fmt.Sprintf("; %s with the rate's doubt counted in.", percent(*s.WouldDoubtful))
		}
		say("Had the rate been %s, so many trees would have shown at least one find with a chance of %s%s", percent(a.Before.Rate), percent(*s.Would), with)
	}
	switch {
	case a.Now.Beta == nil:
		say("How sure the rate was is not known, so it stays as it is.")
	case s.Found > 0:
		say("Together with what was believed before, the rate is now %s, %s sure between %s and %s.",
			percent(a.Now.Rate)+a.Now.aside(a.Now.upper()), sure, percent(a.Now.Interval[0]), percent(a.Now.Interval[1]))
	default:
		say("Together with what was believed before, the rate is now %s, %s sure below %s. That is lower, not nought: no find is weak proof of none.",
			percent(a.Now.Rate)+a.Now.aside(*s.BelowBelieved), sure, percent(*s.BelowBelieved))
	}
}

// upper is the interval's upper end, 1 when nothing is known of the doubt.
func (r EffortRate) upper() float64 {
	if r.Interval == nil {
		return 1
	}
	return r.Interval[1]
}

// aside explains a rate that lies at or above what it is said to be below: that
// of a very skewed belief does, being a mean.
func (r EffortRate) aside(below float64) string {
	if r.Beta == nil || r.Rate < below {
		return ""
	}
	median := Beta{A: r.Beta[0], B: r.Beta[1]}.Quantile(0.5)
	return fmt.Sprintf(" as a mean, which a small chance of a far higher rate lifts (its median is %s)", percent(median))
}

func (a *EffortAnswer) tableText(b *strings.Builder) {
	beyond := false
	cell := func(n *int, known bool) string {
		switch {
		case n != nil:
			return strconv.Itoa(*n)
		case known:
			beyond = true
			return "*"
		}
		return "-"
	}
	b.WriteString("  chance of   trees at a   trees at an\n  one find    fixed rate   uncertain rate\n")
	for _, t := range a.Table {
		fmt.Fprintf(b, "  %9s   %10s   %14s\n", percentAsGiven(t.Chance), cell(t.Fixed, true), cell(t.Uncertain, a.Now.Beta != nil))
	}
	if beyond {
		fmt.Fprintf(b, "  * more than %d\n", MaxTrees)
	}
	if a.Now.Beta == nil {
		b.WriteString("  - how sure the rate is was not said\n")
	}
}

// percent shows a share the way one would say it: 7.2 %, 17 %, over 99.9 %.
func percent(p float64) string {
	switch {
	case p > 0 && p < 1e-6:
		return "next to 0 %"
	case p > 0.999 && p < 1:
		return "over 99.9 %"
	case p >= 0.1:
		return strconv.FormatFloat(math.Round(1000*p)/10, 'f', -1, 64) + " %"
	}
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(100*p, 'g', 2, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64) + " %"
}

// percentAsGiven shows a chance that a person chose, unrounded.
func percentAsGiven(p float64) string {
	rounded, _ := strconv.ParseFloat(strconv.FormatFloat(100*p, 'g', 10, 64), 64)
	return strconv.FormatFloat(rounded, 'f', -1, 64) + " %"
}

func howMany(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + one + "s"
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
