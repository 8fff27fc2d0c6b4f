package weather

import (
	"fmt"
	"math"
	"slices"
)

// row holds the values of one day while a file is read; what it has been given
// is remembered apart, since a value may be given as missing.
type row struct {
	value [elements]float64
	given [elements]bool
}

// gather collects readings in any order.
type gather struct {
	file    string
	station string
	rows    map[Day]*row
	account Account
	strange [elements]string // the first implausible value, in words
}

func newGather(file string) *gather {
	g := &gather{file: file, rows: map[Day]*row{}}
	for e := range g.account.Elements {
		g.account.Elements[e].Element = Element(e)
	}
	return g
}

// maxDays is 500 years; a longer record holds a slip in a year.
const maxDays = 183_000

// day makes sure that a day is part of the record, though nothing may be known
// of it.
func (g *gather) day(line int, d Day) (*row, error) {
	r := g.rows[d]
	if r == nil {
		if len(g.rows) >= maxDays {
			return nil, fmt.Errorf("%s:%d: more than %d days", g.file, line, maxDays)
		}
		r = &row{}
		for e := range r.value {
			r.value[e] = math.NaN()
		}
		g.rows[d] = r
	}
	return r, nil
}

// put keeps one value, NaN for a missing one. A value no weather has reached
// is dropped and counted.
func (g *gather) put(line int, d Day, e Element, v float64) error {
	r, err := g.day(line, d)
	if err != nil {
		return err
	}
	if r.given[e] {
		return fmt.Errorf("%s:%d: %s of %s is there already; a day may have one value of each element", g.file, line, e, d)
	}
	r.given[e] = true
	t := &g.account.Elements[e]
	if lim := limits[e]; v < lim.low || v > lim.high {
		t.Implausible++
		if g.strange[e] == "" {
			g.strange[e] = fmt.Sprintf("line %d: %s of %.4g %s", line, e, v, lim.unit)
		}
		return nil
	}
	r.value[e] = v
	return nil
}

// limits are what has been measured on Earth, with room: -89.2 and 56.7 °C,
// 1825 mm of rain and 1.93 m of snow in a day, 11.8 m of snow on the ground
// (World Meteorological Organization's archive of extremes; from memory).
var limits = [elements]struct {
	low, high float64
	unit      string
}{
	{-90, 57, "°C"}, {-90, 57, "°C"}, {0, 2000, "mm"}, {0, 2500, "mm"}, {0, 12_000, "mm"},
}

// series lays the days out in order.
func (g *gather) series() (*Series, error) {
	if len(g.rows) == 0 {
		return nil, fmt.Errorf("%s: holds no day", g.file)
	}
	days := make([]Day, 0, len(g.rows))
	for d := range g.rows {
		days = append(days, d)
	}
	slices.Sort(days)
	first, last := days[0], days[len(days)-1]
	n := int(last-first) + 1
	if n > maxDays {
		return nil, fmt.Errorf("%s: goes from %s to %s, longer than the %d days allowed; look for a slip in a year", g.file, first, last, maxDays)
	}
	s := &Series{File: g.file, Station: g.station, First: first}
	for e := range s.Values {
		s.Values[e] = make([]float64, n)
		for i := range s.Values[e] {
			s.Values[e][i] = math.NaN()
		}
	}
	for i, d := range days {
		if i > 0 && d != days[i-1]+1 {
			g.account.Gaps++
			g.account.GapDays += int(d-days[i-1]) - 1
		}
		r := g.rows[d]
		if r.value[Tmin] > r.value[Tmax] {
			g.account.Crossed++
			r.value[Tmin], r.value[Tmax] = math.NaN(), math.NaN()
		}
		for e, v := range r.value {
			s.Values[e][d-first] = v
		}
	}
	for e := range s.Values {
		t := &g.account.Elements[e]
		for _, v := range s.Values[e] {
			if v == v {
				t.Known++
			} else {
				t.Missing++
			}
		}
	}
	s.Account = g.account
	return s, nil
}
