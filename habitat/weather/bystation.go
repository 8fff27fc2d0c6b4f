package weather

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
)

// CSV by station has no heading: id, YYYYMMDD, element, value, measurement
// flag, quality flag, source flag, time of observation (readme-by_station). A
// heading that says so is passed over.
const byStationHead = "ID,DATE,ELEMENT"

func isByStation(line string) bool {
	f := strings.Split(line, ",")
	if len(f) < 4 {
		return false
	}
	if isByStationHead(line) {
		return true
	}
	return len(f[0]) == 11 && isStation(f[0]) && len(f[1]) == 8 && digits(f[1]) && len(f[2]) == 4 && isStation(f[2])
}

func isByStationHead(line string) bool {
	return strings.HasPrefix(strings.ReplaceAll(strings.ToUpper(line), "\"", ""), byStationHead)
}

func readByStation(l *lines, told Units) (*Series, error) {
	if err := standardUnits(l.file, "GHCN-Daily CSV by station", told); err != nil {
		return nil, err
	}
	g := newGather(l.file)
	for first := true; ; first = false {
		text, n, ok := l.next()
		if !ok {
			break
		}
		if first && isByStationHead(text) {
			continue
		}
		if err := g.byStation(n, text); err != nil {
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
	s.Format, s.Units = "GHCN-Daily CSV by station", "tenths of °C, tenths of mm of rain, mm of snow (by standard)"
	return s, nil
}

func (g *gather) byStation(n int, text string) error {
	f := strings.Split(text, ",")
	if len(f) < 4 || len(f) > 8 {
		return fmt.Errorf("%s:%d: %d fields; expected id, day, element, value and up to four flags", g.file, n, len(f))
	}
	for len(f) < 8 {
		f = append(f, "")
	}
	if len(f[0]) != 11 || !isStation(f[0]) {
		return fmt.Errorf("%s:%d: expected a station of 11 characters, found %q", g.file, n, clipped(f[0]))
	}
	if err := g.sameStation(n, f[0]); err != nil {
		return err
	}
	if len(f[1]) != 8 || !digits(f[1]) {
		return fmt.Errorf("%s:%d: expected a day such as 20251031, found %q", g.file, n, clipped(f[1]))
	}
	year, _ := strconv.Atoi(f[1][:4])
	month, _ := strconv.Atoi(f[1][4:6])
	dom, _ := strconv.Atoi(f[1][6:])
	d, ok := DayOf(year, time.Month(month), dom)
	if !ok {
		return fmt.Errorf("%s:%d: there is no day %s", g.file, n, f[1])
	}
	e, wanted := elementOf(f[2])
	if !wanted {
		return nil
	}
	v, err := strconv.Atoi(strings.TrimSpace(f[3]))
	if err != nil {
		return fmt.Errorf("%s:%d: %s: expected a whole number, found %q", g.file, n, e, clipped(f[3]))
	}
	for i, name := range []string{"measurement", "quality", "source"} {
		if len(f[4+i]) > 1 {
			return fmt.Errorf("%s:%d: expected one character as %s flag, found %q", g.file, n, name, clipped(f[4+i]))
		}
	}
	if v == missing {
		return g.put(n, d, e, math.NaN())
	}
	return g.ghcn(n, d, e, v, flag(f[4]), flag(f[5]))
}

func flag(s string) byte {
	if s == "" {
		return ' '
	}
	return s[0]
}
