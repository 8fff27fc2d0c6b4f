package field

import (
	"math"
	"testing"
	"time"
)

// Whatever stands for a day: no panic, and a day that is taken reads the same
// again, at midnight UTC, in a year of four digits.
func FuzzParseDay(f *testing.F) {
	for _, s := range []string{"2026-01-31", "2026/1/2", "1/2/2026", "31.12.2025", "2026-01-31T23:59:60Z", "2026-02-30", "0000-00-00", "9999-12-31T23:59:59-14:00", "2026-01-31 07:15", "", "1e3", "２０２６-01-01"} {
		f.Add(s, "iso", -87.0)
		f.Add(s, "mdy", 179.9)
		f.Add(s, "dmy", math.NaN())
	}
	f.Fuzz(func(t *testing.T, text, order string, lon float64) {
		if !(lon >= -180 && lon <= 180) {
			lon = math.NaN()
		}
		d, err := parseDay(text, order, lon)
		if err != nil {
			return
		}
		if d.Hour() != 0 || d.Minute() != 0 || d.Second() != 0 || d.Nanosecond() != 0 || d.Location() != time.UTC {
			t.Fatalf("%q is taken as %v, which is no day", text, d)
		}
		if y := d.Year(); y < 0 || y > 9999 {
			return // the store's own check of the year refuses it
		}
		again, err := parseDay(d.Format(time.DateOnly), order, lon)
		if err != nil || !again.Equal(d) {
			t.Fatalf("%q is taken as %v, which reads as %v, %v", text, d, again, err)
		}
	})
}
