package field

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// parseDay reads a date, in order "iso" (or ""), "mdy" or "dmy". A time of day
// with a zone of its own keeps the day it names; a time in UTC, as GPX has it, is
// moved to the mean solar time of its longitude, since an evening in the west
// is the next day in UTC (common practice, no source).
func parseDay(text, order string, lon float64) (time.Time, error) {
	s := strings.TrimSpace(text)
	for _, form := range []string{time.RFC3339Nano, "2006-01-02 15:04:05Z07:00", "2006/01/02 15:04:05Z07", "2006/01/02 15:04:05.999Z07"} {
		if d, err := time.Parse(form, s); err == nil {
			if _, offset := d.Zone(); offset == 0 && !math.IsNaN(lon) {
				d = d.Add(time.Duration(math.Round(lon*240)) * time.Second)
			}
			return dayOf(d), nil
		}
	}
	forms := []string{time.DateOnly, "2006/01/02", "2006-01-02T15:04:05", "2006-01-02T15:04", time.DateTime, "2006-01-02 15:04", "2006/01/02 15:04:05", "2006/01/02 15:04:05.999"}
	switch order {
	case "mdy":
		forms = append(forms, "1/2/2006", "1-2-2006", "1.2.2006", "1/2/2006 15:04", "1/2/2006 15:04:05")
	case "dmy":
		forms = append(forms, "2/1/2006", "2-1-2006", "2.1.2006", "2/1/2006 15:04", "2/1/2006 15:04:05")
	}
	for _, form := range forms {
		if d, err := time.Parse(form, s); err == nil {
			return dayOf(d), nil
		}
	}
	hint := "write it as 2026-01-31"
	if order == "" || order == "iso" {
		if _, err := parseDay(s, "mdy", lon); err == nil || strings.Count(s, "/") == 2 {
			hint += ", or tell the order with --dates mdy or dmy"
		}
	}
	return time.Time{}, fmt.Errorf("%q is not a day; %s", clipped(s), hint)
}

func dayOf(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// parseNumber reads a finite number; "" is none.
func parseNumber(text string) (v float64, given bool, err error) {
	s := strings.TrimSpace(text)
	if s == "" {
		return 0, false, nil
	}
	v, err = strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || strings.ContainsAny(s, "xX_") {
		hint := "want a number"
		if strings.Count(s, ",") == 1 {
			hint = "write the decimals behind a point"
		}
		return 0, false, fmt.Errorf("%q: %s", clipped(s), hint)
	}
	return v, true, nil
}

// parseCount reads a whole number of things; "" is none. Spreadsheets and
// layers that keep 3 as 3.0 are understood.
func parseCount(text string) (n int, given bool, err error) {
	v, given, err := parseNumber(text)
	switch {
	case err != nil || !given:
		return 0, given, err
	case v < 0:
		return 0, false, fmt.Errorf("%s is less than nought; want a count", number(v))
	case v != math.Trunc(v) || v > 1e6:
		return 0, false, fmt.Errorf("%s is no whole number up to 1000000", number(v))
	}
	return int(v), true, nil
}
