package habitat

import (
	"fmt"
	"math"
	"strings"
)

const (
	fewTrees = 50 // below so many trees hit rates are still mostly the profile's; common practice, no source
	fewStops = 20 // below so many stops so are the weights
)

// remark says what the user should know of how much was learned.
func (l *Learned) remark(p *Profile) {
	note := func(format string, args ...any) { l.Notes = append(l.Notes, fmt.Sprintf(format, args...)) }
	switch {
	case l.Used == 0:
		note("no record could be used: the new profile is the old one")
		return
	case l.Trees < fewTrees:
		note("%s: too few to say much. Hit rates stay near the profile's until some %d trees are in", trees(l.Trees), fewTrees)
	}
	if l.Stops < fewStops {
		note("%d stops tell whether %s stood there: too few to say much. The weights stay near the profile's until some %d are in", l.Stops, kinWords(p), fewStops)
	}
	if l.Stops > 0 && l.StopsWith == l.Stops {
		note("every stop had %s: without stops where they were looked for and missing, the weights can only rise. Write such stops down too, with 0 trees", kinWords(p))
	}
	if l.Stops == 0 {
		note("no stop tells whether %s stood there: the weights of bottomland stay as they were", kinWords(p))
	}
	if !l.RhoTold && l.Trees > 0 {
		note("how far places differ cannot be told from these records; a common guess is used")
	}
	note("records come from ground the map liked: they tell little of ground nobody looked at")
}

func kinWords(p *Profile) string { return p.Hosts[0].Kin + " trees" }

func trees(n int) string {
	if n == 1 {
		return "1 tree"
	}
	return fmt.Sprintf("%d trees", n)
}

// Text is the account for a person, no line wider than 80 columns.
func (l *Learned) Text() string {
	var b strings.Builder
	b.WriteByte('\n')
	wrapInto(&b, "", fmt.Sprintf("%d of %d records used: %s looked at, %d with finds; %d stops, %d with hosts of the bottoms", l.Used, l.Records, trees(l.Trees), l.Found, l.Stops, l.StopsWith))
	for _, left := range l.Left {
		wrapInto(&b, "  left out  ", left)
	}
	if l.Trees > 0 {
		b.WriteString("\nHit rates: chance that a dead or dying tree carries the target in season\n")
		for _, r := range l.Rates {
			if r.Inspected == 0 {
				continue
			}
			wrapInto(&b, "  - ", fmt.Sprintf("%s: %d of %s at %d %s: %s; before %s", r.Common, r.Found, trees(r.Inspected), r.Sites, placeWord(r.Sites), percents(r.After), percents(r.Before)))
		}
		wrapInto(&b, "  ", fmt.Sprintf("These hold on good ground (bottomland %.2f); rate_by_bottomland below says how they change with it.", Logistic(rateLogit)))
		if len(l.ByCondition) > 1 {
			b.WriteString("  by condition\n")
			for _, r := range l.ByCondition {
				wrapInto(&b, "  - ", fmt.Sprintf("%s, %s: %d of %s: %s", r.Common, r.Condition, r.Found, trees(r.Inspected), percents(r.After)))
			}
		}
		if l.RhoTold {
			wrapInto(&b, "  ", fmt.Sprintf("Places differ: two trees of one place are alike by %.2f (%.2f to %.2f; 0 would be no difference between places).", l.Rho[0], l.Rho[1], l.Rho[2]))
		}
	}
	if l.Detection != nil {
		wrapInto(&b, "  ", l.Detection.Text())
	}
	b.WriteString("\nWeights of bottomland\n")
	fmt.Fprintf(&b, "  %-18s %8s %8s   %s\n", "weight", "before", "after", "nine in ten")
	for _, w := range l.Weights {
		fmt.Fprintf(&b, "  %-18s %8.3f %8.3f   %.3f to %.3f\n", w.Name, w.Before, w.After, w.Low, w.High)
	}
	if len(l.Notes) > 0 {
		b.WriteString("\n")
	}
	for _, n := range l.Notes {
		wrapInto(&b, "  note  ", n)
	}
	return b.String()
}

func placeWord(n int) string {
	if n == 1 {
		return "place"
	}
	return "places"
}

// percents is a rate with its interval, as in 8 % (2–17 %).
func percents(r [3]float64) string {
	return fmt.Sprintf("%s %% (%s–%s %%)", shareText(r[0]), shareText(r[1]), shareText(r[2]))
}

func shareText(v float64) string {
	v *= 100
	switch {
	case v == 0 || v >= 9.95:
		return fmt.Sprintf("%.0f", v)
	case v >= 0.095:
		return fmt.Sprintf("%.1f", v)
	}
	return fmt.Sprintf("%.1g", math.Max(v, 1e-4))
}
