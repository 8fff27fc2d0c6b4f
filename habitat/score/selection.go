package score

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Selection tells how far the ground looked at differs from the map as a
// whole. Values are those of the map, whatever its unit.
type Selection struct {
	Records    int `json:"records"`
	Background int `json:"background"`
	// Medians of the map's values, and the share of the map below that of the
	// ground looked at: 0.5 were it like the map, near 1 where only the best
	// was looked at. Equal values count half.
	RecordMedian     Figure `json:"record_median"`
	BackgroundMedian Figure `json:"background_median"`
	Below            Figure `json:"map_below_record_median"`
	// Higher is the chance that a place looked at scores above a place of the
	// map, ties half: the AUC of looked at against map.
	Higher Figure `json:"record_above_map"`
	// Untried is the share of the map that scores below nineteen of twenty
	// places looked at: of such ground the records tell next to nothing.
	Untried Figure `json:"map_below_nearly_all_records"`
	Text    string `json:"text"`
}

// Limits of what Select calls like the map and far from it (common practice,
// no source; an AUC of 0.7 is about where two groups differ by three quarters
// of their spread).
const (
	alike  = 0.6
	differ = 0.7
)

// Select compares the map's values at the records with its values at places
// drawn from the map as a whole, such as a lattice of cells. NaN are left out.
func Select(atRecords, background []float64) Selection {
	a, b := sortedKnown(atRecords), sortedKnown(background)
	s := Selection{Records: len(a), Background: len(b)}
	if len(a) == 0 || len(b) == 0 {
		why := "no records"
		if len(a) > 0 {
			why = "no background"
		}
		none := unknown("%s", why)
		s.RecordMedian, s.BackgroundMedian, s.Below, s.Higher, s.Untried = none, none, none, none, none
		s.Text = "How far the ground looked at differs from the map is not known: " + why + "."
		return s
	}
	mid := median(a)
	s.RecordMedian, s.BackgroundMedian = known(mid), known(median(b))
	s.Below = known(shareBelow(b, mid, 0.5))
	s.Untried = known(shareBelow(b, a[len(a)/20], 0))
	both := Sample{}
	for _, v := range a {
		both.add(0, v, 1, 0)
	}
	for _, v := range b {
		both.add(0, v, 0, 1)
	}
	s.Higher = known(both.AUC().Value)
	s.Text = s.words()
	return s
}

func (s Selection) words() string {
	var b strings.Builder
	switch h := s.Higher.Value; {
	case s.Records < 5:
		fmt.Fprintf(&b, "With %d records one cannot tell how the ground looked at differs from the map.", s.Records)
	case h >= differ:
		fmt.Fprintf(&b, "Records come from ground the map liked: the middle one scores above %s of the map.", share(s.Below.Value))
	case h > alike:
		fmt.Fprintf(&b, "Records come somewhat more from ground the map liked: the middle one scores above %s of the map.", share(s.Below.Value))
	case h >= 1-alike:
		b.WriteString("The ground looked at scores much like the map as a whole.")
	default:
		fmt.Fprintf(&b, "Records come from ground the map did not like: the middle one scores above only %s of the map.", share(s.Below.Value))
	}
	if s.Records >= 5 && s.Untried.Value >= 0.1 {
		fmt.Fprintf(&b, " %s of the map scores below nearly all of them; what grows there nobody has looked at, so neither the scores nor what is learnt say anything of it.", upper(share(s.Untried.Value)))
	}
	if s.Higher.Value > alike || s.Records < 5 {
		b.WriteString(" A few stops on ground the map does not like, written down even where there is no host, tell more than as many on the best.")
	}
	return b.String()
}

func sortedKnown(v []float64) []float64 {
	var out []float64
	for _, x := range v {
		if !math.IsNaN(x) {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return out
}

// median of sorted values.
func median(v []float64) float64 {
	n := len(v)
	if n%2 == 1 || v[n/2-1] == v[n/2] {
		return v[n/2]
	}
	return v[n/2-1]/2 + v[n/2]/2
}

// shareBelow is the share of sorted values below x, equal ones counting tie.
func shareBelow(v []float64, x, tie float64) float64 {
	from, _ := slices.BinarySearch(v, x)
	to := from
	for to < len(v) && v[to] == x {
		to++
	}
	return (float64(from) + tie*float64(to-from)) / float64(len(v))
}

// share is a share as one would say it.
func share(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "less than 1 %"
	case p > 0.99 && p < 1:
		return "over 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

func upper(s string) string { return strings.ToUpper(s[:1]) + s[1:] }
