package season

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"rillwood/habitat/learn"
	"rillwood/habitat/score"
	"rillwood/habitat/weather"
	"rillwood/internal/terminal"
)

// Visit is one day on which host trees were looked at.
type Visit struct {
	Day   weather.Day
	Found bool // at least one of them carried the target
}

// Score says how well the rule tells days of finds from days without one.
// Visits of one day are one: their weather is the same.
type Score struct {
	Inside  Tally `json:"inside"`  // days in windows
	Outside Tally `json:"outside"` // judged days of the months outside
	// LeftOut are visits that say nothing of the rule, and why.
	NotInMonths int `json:"not_in_months"`
	NotJudged   int `json:"not_judged"` // what is missing could turn the rule
	NoRecord    int `json:"no_record"`  // before, after or in a hole of the record
	// OddsRatio of a find inside against outside, by Firth's regression, with
	// its 95 % interval; nil where one of the two kinds of day is missing.
	OddsRatio *Odds `json:"odds_ratio"`
	// GainBits is how much better each day's outcome was told by the rate of
	// its kind of day than by one rate for all, the day itself left out of the
	// rates, in bits a day; nil as OddsRatio.
	GainBits *float64 `json:"gain_bits_per_day"`
	Verdict  string   `json:"verdict"`
}

// Tally is one row of the two-by-two table.
type Tally struct {
	Days  int        `json:"days"`
	Finds int        `json:"with_finds"`
	Rate  [2]float64 `json:"rate_95"` // Wilson's interval
}

// Odds is a ratio with its interval.
type Odds struct {
	Ratio float64 `json:"ratio"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// fewDays of either kind are too few to say anything, whatever they show.
const fewDays = 5

// ScoreVisits holds the rule against visits; no order is asked of them.
func (j *Judgement) ScoreVisits(visits []Visit) (*Score, error) {
	if len(visits) == 0 {
		return nil, errors.New("no visit with a date to hold the rule against")
	}
	s := j.Series
	in := inSpans(j.Windows, s.Len())
	out := &Score{}
	for _, v := range byDay(visits) {
		i := int(v.Day - s.First)
		switch {
		case !slices.Contains(j.Rule.Months, int(v.Day.Time().Month())):
			out.NotInMonths++
		case i < 0 || i >= s.Len() || s.At(weather.Tmax, v.Day) != s.At(weather.Tmax, v.Day) && s.At(weather.Tmin, v.Day) != s.At(weather.Tmin, v.Day):
			out.NoRecord++
		case in[i]:
			out.Inside.add(v.Found)
		case j.Good[i] == Unknown:
			out.NotJudged++
		default:
			out.Outside.add(v.Found)
		}
	}
	for _, t := range []*Tally{&out.Inside, &out.Outside} {
		t.Rate[0], t.Rate[1] = score.Wilson(float64(t.Finds), float64(t.Days), 0.95)
	}
	if err := out.ratio(); err != nil {
		return nil, err
	}
	out.judge()
	return out, nil
}

// byDay makes one visit of those of a day.
func byDay(visits []Visit) []Visit {
	sorted := slices.Clone(visits)
	slices.SortFunc(sorted, func(a, b Visit) int { return cmp.Compare(a.Day, b.Day) })
	var out []Visit
	for _, v := range sorted {
		if n := len(out); n > 0 && out[n-1].Day == v.Day {
			out[n-1].Found = out[n-1].Found || v.Found
			continue
		}
		out = append(out, v)
	}
	return out
}

func (t *Tally) add(found bool) {
	t.Days++
	if found {
		t.Finds++
	}
}

// ratio fits a find by inside or not.
func (s *Score) ratio() error {
	if s.Inside.Days == 0 || s.Outside.Days == 0 {
		return nil
	}
	n := []float64{float64(s.Inside.Days), float64(s.Outside.Days)}
	y := []float64{float64(s.Inside.Finds), float64(s.Outside.Finds)}
	fit, err := learn.Firth([][]float64{{1, 1}, {1, 0}}, n, y, []float64{0, 0})
	if err != nil {
		return fmt.Errorf("odds ratio of finds: %w", err)
	}
	low, high := fit.Interval(1, 0.95)
	s.OddsRatio = &Odds{math.Exp(fit.Beta[1]), math.Exp(low), math.Exp(high)}
	gain := (leaveOneOut(s.Inside) + leaveOneOut(s.Outside) -
		leaveOneOut(Tally{Days: s.Inside.Days + s.Outside.Days, Finds: s.Inside.Finds + s.Outside.Finds})) /
		(math.Ln2 * float64(s.Inside.Days+s.Outside.Days))
	s.GainBits = &gain
	return nil
}

// leaveOneOut is the log of the chance given to each day's outcome by the
// others of its kind, half a find and half a failure added (Jeffreys' prior).
func leaveOneOut(t Tally) float64 {
	f, n := float64(t.Finds), float64(t.Days)
	sum := 0.0
	if f > 0 {
		sum += f * math.Log((f-1+0.5)/n)
	}
	if n > f {
		sum += (n - f) * math.Log((n-f-1+0.5)/n)
	}
	return sum
}

func (s *Score) judge() {
	switch o := s.OddsRatio; {
	case s.Inside.Days < fewDays || s.Outside.Days < fewDays:
		s.Verdict = fmt.Sprintf("too few to say: at least %d days of each kind are needed", fewDays)
	case o.Low > 1:
		s.Verdict = "finds were likelier on days in windows"
	case o.High < 1:
		s.Verdict = "finds were less likely on days in windows: the rule misleads here; change it"
	default:
		s.Verdict = "too few to say: the odds ratio's interval holds 1, where the rule tells nothing"
	}
}

// Text is the score for a person, in lines of at most 80 columns.
func (s *Score) Text() string {
	var b strings.Builder
	b.WriteString("The rule against the days of visits\n")
	fmt.Fprintf(&b, "  %-16s%6s%12s%12s  %s\n", "", "days", "with finds", "without", "rate, 95 % sure")
	for _, t := range []struct {
		name string
		Tally
	}{{"in a window", s.Inside}, {"outside", s.Outside}} {
		rate := "-"
		if t.Days > 0 {
			rate = fmt.Sprintf("%.0f %% (%.0f to %.0f)", 100*float64(t.Finds)/float64(t.Days), 100*t.Rate[0], 100*t.Rate[1])
		}
		fmt.Fprintf(&b, "  %-16s%6d%12d%12d  %s\n", t.name, t.Days, t.Finds, t.Days-t.Finds, rate)
	}
	if o := s.OddsRatio; o != nil {
		fmt.Fprintf(&b, "  odds ratio of a find %.2g (95 %% sure: %.2g to %.2g); gain %.2f bits a day\n", o.Ratio, o.Low, o.High, *s.GainBits)
	}
	b.WriteString(terminal.Wrap("  ", s.Verdict, terminal.Standard))
	if n := s.NotInMonths + s.NotJudged + s.NoRecord; n > 0 {
		b.WriteString(terminal.Wrap("  ", fmt.Sprintf("left out: %s: %d outside the months, %d not judged, %d without weather", plural(n, "day"), s.NotInMonths, s.NotJudged, s.NoRecord), terminal.Standard))
	}
	return b.String()
}

// ScoreVisits holds the outlook's rule against visits, over measured days only.
func (o *Outlook) ScoreVisits(visits []Visit) (*Score, error) { return o.measured.ScoreVisits(visits) }
