package weather

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// A line of .dly is one month of one element: id 1–11, year 12–15, month
// 16–17, element 18–21, then 31 times value 5, measurement flag 1, quality flag
// 1, source flag 1 (GHCN-Daily readme, section III).
const (
	dlyHead = 21
	dlyDay  = 8
	dlyLine = dlyHead + 31*dlyDay
)

// missing is how GHCN-Daily writes that there is no value.
const missing = -9999

// isDly tells a line of .dly: its fixed head, whatever follows.
func isDly(line string) bool {
	return len(line) >= dlyHead && isStation(line[:11]) && digits(line[11:17]) && isStation(line[17:21]) && !strings.Contains(line[:dlyHead], ",")
}

func isStation(s string) bool {
	for _, c := range []byte(s) {
		if !(c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c == '_' || c == '-') {
			return false
		}
	}
	return s != ""
}

func digits(s string) bool {
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return false
		}
	}
	return s != ""
}

func readDly(l *lines, told Units) (*Series, error) {
	if err := standardUnits(l.file, "GHCN-Daily .dly", told); err != nil {
		return nil, err
	}
	g := newGather(l.file)
	for {
		text, n, ok := l.next()
		if !ok {
			break
		}
		if err := g.dly(n, text); err != nil {
			return nil, err
		}
	}
	if l.err != nil {
		return nil, l.err
	}
	s, err := g.series()
	if err != nil {
		return nil, err
	}
	s.Format, s.Units = "GHCN-Daily .dly", "tenths of °C, tenths of mm of rain, mm of snow (by standard)"
	return s, nil
}

func (g *gather) dly(n int, text string) error {
	if !isDly(text) {
		return fmt.Errorf("%s:%d: expected station, year, month and element as in GHCN-Daily .dly, found %q", g.file, n, clipped(text))
	}
	if err := g.sameStation(n, text[:11]); err != nil {
		return err
	}
	e, wanted := elementOf(text[17:21])
	if len(text) > dlyLine {
		return fmt.Errorf("%s:%d: %d characters, more than the %d of a month in .dly", g.file, n, len(text), dlyLine)
	}
	// Blanks at the end may have been cut off by an editor.
	text += strings.Repeat(" ", dlyLine-len(text))
	year, _ := strconv.Atoi(text[11:15])
	month, _ := strconv.Atoi(text[15:17])
	if _, ok := DayOf(year, time.Month(month), 1); !ok {
		return fmt.Errorf("%s:%d: no month: %q", g.file, n, text[11:17])
	}
	if !wanted {
		return nil
	}
	for i := range 31 {
		cell := text[dlyHead+i*dlyDay:][:dlyDay]
		value := strings.TrimSpace(cell[:5])
		v, err := strconv.Atoi(value)
		if err != nil && value != "" {
			return fmt.Errorf("%s:%d: %s of day %d: expected a whole number in columns %d–%d, found %q", g.file, n, e, i+1, dlyHead+i*dlyDay+1, dlyHead+i*dlyDay+5, clipped(cell[:5]))
		}
		absent := value == "" || v == missing
		d, exists := DayOf(year, time.Month(month), i+1)
		if !exists {
			if !absent {
				return fmt.Errorf("%s:%d: %s has a value on day %d, which %04d-%02d does not have", g.file, n, e, i+1, year, month)
			}
			continue
		}
		if absent {
			err = g.put(n, d, e, math.NaN())
		} else {
			err = g.ghcn(n, d, e, v, cell[5], cell[6])
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// ghcn keeps a value with its flags: any quality flag means that it failed.
func (g *gather) ghcn(n int, d Day, e Element, v int, mflag, qflag byte) error {
	t := &g.account.Elements[e]
	if qflag != ' ' {
		t.Failed++
		return g.put(n, d, e, math.NaN())
	}
	switch mflag {
	case 'T':
		t.Trace++
	case 'P':
		t.PresumedNil++
	}
	value := float64(v)
	if e == Tmin || e == Tmax || e == Precip {
		value /= 10
	}
	return g.put(n, d, e, value)
}

// sameStation holds a file to one station.
func (g *gather) sameStation(n int, id string) error {
	switch g.station {
	case id:
	case "":
		g.station = id
	default:
		return fmt.Errorf("%s:%d: station %s after %s; give the record of one station", g.file, n, clipped(id), clipped(g.station))
	}
	return nil
}

func elementOf(name string) (Element, bool) {
	for e, n := range elementNames {
		if n == name {
			return Element(e), true
		}
	}
	return 0, false
}
