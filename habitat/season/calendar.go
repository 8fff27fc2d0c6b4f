package season

import (
	"fmt"
	"time"

	"rillwood/habitat/weather"
)

// slot is a day of the year as seasons share it.
type slot struct {
	month time.Month
	day   int
}

func (s slot) String() string { return fmt.Sprintf("%d %s", s.day, s.month.String()[:3]) }

// MarshalText writes month and day, 02-29.
func (s slot) MarshalText() ([]byte, error) {
	return fmt.Appendf(nil, "%02d-%02d", s.month, s.day), nil
}

// South is the rule for the southern half of the Earth: months and the start
// of degree-days moved by half a year.
func (r *Rule) South() *Rule {
	south := *r
	south.Months = make([]int, len(r.Months))
	for i, m := range r.Months {
		south.Months[i] = (m+5)%12 + 1
	}
	if r.DegreeDays != nil {
		d := *r.DegreeDays
		if month, day, err := d.start(); err == nil {
			month = (month+5)%12 + 1
			// The last days of a longer month go to the last of a shorter one.
			day = min(day, time.Date(2001, month+1, 0, 0, 0, 0, 0, time.UTC).Day())
			d.Start = fmt.Sprintf("%02d-%02d", month, day)
		}
		south.DegreeDays = &d
	}
	return &south
}

// slots are the days of the year in the rule's months, in the order in which
// they come; 29 February is one of them.
func (r *Rule) slots() []slot {
	var out []slot
	for _, m := range r.Months {
		for d := 1; d <= time.Date(2000, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC).Day(); d++ {
			out = append(out, slot{time.Month(m), d})
		}
	}
	return out
}

// dayOf is the day of a slot in the season that begins in year; false for a
// 29 February that does not come.
func (r *Rule) dayOf(year int, s slot) (weather.Day, bool) {
	if int(s.month) < r.Months[0] {
		year++
	}
	return weather.DayOf(year, s.month, s.day)
}

// bounds are the first and the last day of the season that begins in year.
func (r *Rule) bounds(year int) (first, last weather.Day) {
	first, _ = weather.DayOf(year, time.Month(r.Months[0]), 1)
	end := time.Month(r.Months[len(r.Months)-1])
	if int(end) < r.Months[0] {
		year++
	}
	return first, weather.DayAt(time.Date(year, end+1, 0, 0, 0, 0, 0, time.UTC))
}

// yearOf is the year in which the season of a day began, or for a day between
// two seasons that of the one before.
func (r *Rule) yearOf(d weather.Day) int {
	y, m, _ := d.Date()
	if int(m) < r.Months[0] {
		y--
	}
	return y
}

// label names a season by its year or years: 2025 or 2025–26.
func (r *Rule) label(year int) string {
	if first, last := r.bounds(year); first.Time().Year() != last.Time().Year() {
		return fmt.Sprintf("%d–%02d", year, (year+1)%100)
	}
	return fmt.Sprint(year)
}
