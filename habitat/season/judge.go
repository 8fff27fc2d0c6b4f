package season

import (
	"slices"

	"rillwood/habitat/weather"
)

// Condition is one part of a rule.
type Condition int

// The conditions, in the order in which they are told.
const (
	InMonths Condition = iota
	FreezeBefore
	MildSpell
	WetBefore
	NotTooWarm
	WarmthGathered
	conditions
)

var conditionNames = [conditions]string{"months", "freeze", "mild", "wet", "cool", "degree_days"}

func (c Condition) String() string { return conditionNames[c] }

// MarshalText writes the condition's key in the profile.
func (c Condition) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// Judgement is a rule held against every day of a record.
type Judgement struct {
	Series *weather.Series
	Rule   *Rule
	Asked  []Condition // those that the rule has and the record can answer
	// NotAsked says, in words, what the rule has and the record cannot answer
	// at all; it was left out.
	NotAsked []string
	By       [conditions][]Truth // by condition and day; nil where not asked
	Good     []Truth             // by day: all that was asked holds
	Sum      []float64           // degree-days gathered since the rule's start; nil where not asked, NaN where not known
	Windows  []Span              // of good days, in order
}

// Judge holds the rule against every day. A condition that hangs on something
// the station never measured is left out and told in NotAsked; one that hangs on
// missing days is Unknown wherever these could turn it.
func Judge(s *weather.Series, r *Rule) *Judgement {
	j := &Judgement{Series: s, Rule: r}
	n := s.Len()
	tmin, tmax := s.Values[weather.Tmin], s.Values[weather.Tmax]
	j.ask(InMonths, func(i int) Truth {
		_, m, _ := (s.First + weather.Day(i)).Date()
		return truthOf(slices.Contains(r.Months, int(m)))
	})
	if f := r.Freeze; f != nil {
		j.ask(FreezeBefore, func(i int) Truth {
			return anyOf(i, f.WithinDays, func(k int) Truth { return atMost(at(tmin, k), f.TminAtMostC) })
		})
	}
	if m := r.Mild; m != nil {
		j.ask(MildSpell, func(i int) Truth {
			return allOf(i, m.Days, func(k int) Truth {
				t := atLeast(at(tmax, k), m.TmaxAtLeastC)
				if m.TminAtLeastC != nil {
					t = min(t, atLeast(at(tmin, k), *m.TminAtLeastC))
				}
				return t
			})
		})
	}
	j.askWet()
	if c := r.Cool; c != nil {
		j.ask(NotTooWarm, func(i int) Truth { return atMost(tmax[i], c.TmaxAtMostC) })
	}
	if d := r.DegreeDays; d != nil {
		j.Sum = d.sums(s)
		j.ask(WarmthGathered, func(i int) Truth {
			return min(atLeast(j.Sum[i], d.Low), atMost(j.Sum[i], d.High))
		})
	}
	j.Good = make([]Truth, n)
	for i := range j.Good {
		j.Good[i] = Yes
		for _, c := range j.Asked {
			j.Good[i] = min(j.Good[i], j.By[c][i])
		}
	}
	j.Windows = r.Window.spans(j.Good, j.By[InMonths])
	return j
}

func (j *Judgement) ask(c Condition, of func(i int) Truth) {
	j.Asked = append(j.Asked, c)
	by := make([]Truth, j.Series.Len())
	for i := range by {
		by[i] = of(i)
	}
	j.By[c] = by
}

// askWet asks for rain or melt, as far as the station measures them.
func (j *Judgement) askWet() {
	w, s := j.Rule.Wet, j.Series
	if w == nil {
		return
	}
	rain, melt := w.RainAtLeastMM, w.MeltAtLeastMM
	if rain != nil && !s.Has(weather.Precip) {
		j.NotAsked = append(j.NotAsked, "wet: the station has no precipitation (PRCP), so that rain cannot be judged; days count as if it had rained")
		return
	}
	if melt != nil && !s.Has(weather.Depth) {
		if rain == nil {
			j.NotAsked = append(j.NotAsked, "wet: the station has no snow depth (SNWD), so that snow gone cannot be judged; days count as if it had thawed")
			return
		}
		j.NotAsked = append(j.NotAsked, "wet: the station has no snow depth (SNWD), so that only rain is judged, not snow gone")
		melt = nil
	}
	var lost []float64
	if melt != nil {
		lost = meltOf(s)
	}
	j.ask(WetBefore, func(i int) Truth {
		t := No
		if rain != nil {
			t = max(t, sumAtLeast(s.Values[weather.Precip], i, w.WithinDays, *rain))
		}
		if melt != nil {
			t = max(t, sumAtLeast(lost, i, w.WithinDays, *melt))
		}
		return t
	})
}

// at is a value by index, NaN before the record begins.
func at(v []float64, i int) float64 {
	if i < 0 {
		return nan
	}
	return v[i]
}

// anyOf asks the n days that end with day i.
func anyOf(i, n int, of func(k int) Truth) Truth {
	t := No
	for k := i; k > i-n && t < Yes; k-- {
		t = max(t, of(k))
	}
	return t
}

func allOf(i, n int, of func(k int) Truth) Truth {
	t := Yes
	for k := i; k > i-n && t > No; k-- {
		t = min(t, of(k))
	}
	return t
}

// sumAtLeast sums n days that end with day i; none of the values is negative,
// so that what is known may be enough.
func sumAtLeast(v []float64, i, n int, bound float64) Truth {
	sum, missing := 0.0, false
	for k := i - n + 1; k <= i; k++ {
		if x := at(v, k); x == x {
			sum += x
		} else {
			missing = true
		}
	}
	// Sums of tenths are compared as tenths: 0.1 and 0.2 make 0.3.
	switch {
	case sum >= bound-1e-9:
		return Yes
	case missing:
		return Unknown
	}
	return No
}
