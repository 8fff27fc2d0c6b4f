package weather

import (
	"fmt"
	"slices"
	"strings"
)

// columns say where a table keeps what.
type columns struct {
	file             string
	width            int
	date             int // -1: see year, month, day
	year, month, day int
	station          int
	value            [elements]int
	unit             [elements]unit
	attributes       [elements]int // of GHCN exports: measurement, quality and source flag, parted by commas
	ignored          []string
	units            string // in words
}

// names of columns, without unit, in small letters.
var columnNames = [elements][]string{
	{"tmin", "min_temp", "temp_min", "mintemp", "low"},
	{"tmax", "max_temp", "temp_max", "maxtemp", "high"},
	{"prcp", "precip", "precipitation", "rain"},
	{"snow", "snowfall"},
	{"snwd", "snow_depth", "snowdepth", "depth"},
}

// suffixes that name a unit.
var (
	warmSuffixes = map[string]unit{"_c": celsius, "_f": fahrenheit, "_degc": celsius, "_degf": fahrenheit}
	wetSuffixes  = map[string]unit{"_mm": millimetre, "_cm": centimetre, "_in": inch, "_inch": inch, "_inches": inch}
)

// understand reads the heading. Unknown columns are no fault; a column that is
// known and tells no unit is one, unless the units were told.
func understand(file string, line int, head []string, told Units) (*columns, error) {
	c := &columns{file: file, width: len(head), date: -1, year: -1, month: -1, day: -1, station: -1}
	for e := range c.value {
		c.value[e], c.attributes[e] = -1, -1
	}
	var named, unnamed []string
	for i, raw := range head {
		name := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(raw)), " ", "_")
		at, twice := &c.station, false
		switch name {
		case "date":
			at = &c.date
		case "year":
			at = &c.year
		case "month":
			at = &c.month
		case "day":
			at = &c.day
		case "station", "id", "station_id":
		default:
			e, u, ok := elementColumn(name)
			if base, attributes := strings.CutSuffix(name, "_attributes"); !ok && attributes {
				if e, _, ok := elementColumn(base); ok {
					c.attributes[e] = i
					continue
				}
			}
			if !ok {
				c.ignored = append(c.ignored, clipped(raw))
				continue
			}
			at = &c.value[e]
			if twice = *at >= 0; twice {
				break
			}
			if u == nil {
				unnamed = append(unnamed, clipped(raw))
				told := told.toldUnit(e)
				u = &told
			} else {
				if told != NotTold && *u != told.toldUnit(e) && u.word != "cm" {
					return nil, fmt.Errorf("%s:%d: column %s is in %s by its name, yet --units %s was told; leave --units out or mend the name", file, line, clipped(raw), u.word, told)
				}
				named = append(named, clipped(raw))
			}
			c.unit[e] = *u
		}
		if twice || *at >= 0 {
			return nil, fmt.Errorf("%s:%d: column %s is there twice", file, line, clipped(raw))
		}
		*at = i
	}
	if c.value[Tmax] < 0 || c.value[Tmin] < 0 {
		return nil, fmt.Errorf("%s:%d: neither GHCN-Daily nor a table with the columns date, tmin and tmax; found %q", file, line, clipped(strings.Join(head, ",")))
	}
	if c.date < 0 && (c.year < 0 || c.month < 0 || c.day < 0) {
		return nil, fmt.Errorf("%s:%d: no column date, nor year, month and day; found %q", file, line, clipped(strings.Join(head, ",")))
	}
	if len(unnamed) > 0 && told == NotTold {
		return nil, fmt.Errorf("%s:%d: column %s does not name its unit; say --units us (°F, inches), metric (°C, mm) or tenths", file, line, unnamed[0])
	}
	c.sayUnits(named, unnamed, told)
	return c, nil
}

// elementColumn finds the element that a column's name stands for, and the
// unit it names, nil where it names none.
func elementColumn(name string) (Element, *unit, bool) {
	for e := range elements {
		suffixes := wetSuffixes
		if e == Tmin || e == Tmax {
			suffixes = warmSuffixes
		}
		if slices.Contains(columnNames[e], name) {
			return e, nil, true
		}
		i := strings.LastIndexByte(name, '_')
		if i < 0 || !slices.Contains(columnNames[e], name[:i]) {
			continue
		}
		if u, ok := suffixes[name[i:]]; ok {
			return e, &u, true
		}
	}
	return 0, nil, false
}

func (c *columns) sayUnits(named, unnamed []string, told Units) {
	var words []string
	for e, at := range c.value {
		if at >= 0 && !slices.Contains(words, c.unit[e].word) {
			words = append(words, c.unit[e].word)
		}
	}
	by := "told"
	switch {
	case len(unnamed) == 0:
		by = "named by the columns"
	case len(named) > 0:
		by = "named by the columns or told"
	}
	c.units = strings.Join(words, ", ") + " (" + by + ")"
}
