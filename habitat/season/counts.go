package season

import "rillwood/habitat/weather"

// FreezeThaw counts days that freeze and thaw, by three definitions in use.
// Only days with both temperatures known can count.
type FreezeThaw struct {
	Strict int `json:"strict"` // Tmin below 0 and Tmax above 0 °C
	Firm   int `json:"firm"`   // Tmin of -1 or less and Tmax of 1 °C or more
	Hard   int `json:"hard"`   // a hard freeze, Tmin of -2.2 °C (28 °F) or less, and Tmax of 0 °C or more
}

// hardC is 28 °F as it is written in °C. Fahrenheit records hold 28 °F as
// -2.222 °C and tenths as -2.2, so that both are hard.
const hardC = -2.2

// Add counts one day; NaN counts nowhere.
func (f *FreezeThaw) Add(tmin, tmax float64) {
	if tmin < 0 && tmax > 0 {
		f.Strict++
	}
	if tmin <= -1 && tmax >= 1 {
		f.Firm++
	}
	if tmin <= hardC && tmax >= 0 {
		f.Hard++
	}
}

// Counts are of the days of a season that lie in the record.
type Counts struct {
	Days       int        `json:"days"`      // of the season, in the record or not, up to its end or the record's
	TempDays   int        `json:"temp_days"` // with both temperatures known; only these are counted in what follows
	FreezeThaw FreezeThaw `json:"freeze_thaw"`
	BaseC      float64    `json:"base_c"` // of the degree-days: the rule's, or 0 °C
	CutoffC    *float64   `json:"cutoff_c,omitempty"`
	Average    float64    `json:"degree_days_average"`
	Sine       float64    `json:"degree_days_single_sine"`
}

// count goes through the days of a season up to until.
func (r *Rule) count(s *weather.Series, first, last weather.Day) Counts {
	var c Counts
	if r.DegreeDays != nil {
		c.BaseC, c.CutoffC = r.DegreeDays.BaseC, r.DegreeDays.CutoffC
	}
	for d := first; d <= last; d++ {
		c.Days++
		lo, hi := s.At(weather.Tmin, d), s.At(weather.Tmax, d)
		if lo != lo || hi != hi {
			continue
		}
		c.TempDays++
		c.FreezeThaw.Add(lo, hi)
		c.Average += Average.Daily(lo, hi, c.BaseC, c.CutoffC)
		c.Sine += SingleSine.Daily(lo, hi, c.BaseC, c.CutoffC)
	}
	return c
}
