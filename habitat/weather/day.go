package weather

import (
	"fmt"
	"time"
)

// Day is a day of the Gregorian calendar, counted from 1970-01-01.
type Day int32

// DayOf is the day of a date; it is false for one that does not exist.
func DayOf(year int, month time.Month, day int) (Day, bool) {
	t := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	if y, m, d := t.Date(); y != year || m != month || d != day || y < firstYear || y > lastYear {
		return 0, false
	}
	return DayAt(t), true
}

// Years outside these are slips: no station is older.
const firstYear, lastYear = 1700, 2200

// ParseDay reads 2025-10-31.
func ParseDay(text string) (Day, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err == nil {
		if d, ok := DayOf(t.Year(), t.Month(), t.Day()); ok {
			return d, nil
		}
	}
	return 0, fmt.Errorf("expected a day such as 2025-10-31, found %q", clipped(text))
}

// DayAt is the day of a moment, in UTC.
func DayAt(t time.Time) Day {
	s := t.Unix()
	d := s / 86400
	if s%86400 < 0 {
		d--
	}
	return Day(d)
}

// Time is the day's beginning in UTC.
func (d Day) Time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// Date gives year, month and day of the month.
func (d Day) Date() (int, time.Month, int) { return d.Time().Date() }

func (d Day) String() string { return d.Time().Format(time.DateOnly) }

// MarshalText writes the day as 2025-10-31.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }
