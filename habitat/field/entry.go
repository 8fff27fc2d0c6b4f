package field

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
)

// entry is a row under way.
type entry struct {
	assembled
	a   *assembly
	row tableRow
}

func (e *entry) wrong(field, format string, args ...any) {
	e.bad = append(e.bad, Problem{File: e.a.t.file, Where: e.where, Field: field, Text: fmt.Sprintf(format, args...)})
}

// takeRow reads a row that has a column for everything.
func (a *assembly) takeRow(row tableRow) {
	e := &entry{a: a, row: row, assembled: assembled{where: a.t.where(row)}}
	for k := len(a.t.names); k < len(row.values); k++ {
		if strings.TrimSpace(row.values[k]) != "" {
			e.wrong("", "more fields than the %d columns; put a field with a comma in it into quotes", len(a.t.names))
			break
		}
	}
	host := a.value(row, "host")
	if host != "" {
		id, err := a.o.Vocabulary.Host(host)
		if err != nil {
			e.wrong("host", "%v", err)
		}
		e.r.Host = id
	}
	var err error
	if e.r.Condition, err = Condition(a.value(row, "condition")); err != nil {
		e.wrong("condition", "%v", err)
	}
	given := false
	if e.r.Inspected, given, err = parseCount(a.value(row, "inspected")); err != nil {
		e.wrong("inspected", "%v", err)
	} else if !given && e.r.Host != NoHost {
		e.wrong("inspected", "empty; say how many trees were looked at, 0 when none of the host is there")
	}
	if e.r.Found, given, err = parseCount(a.value(row, "found")); err != nil {
		e.wrong("found", "%v", err)
	} else if !given && e.r.Inspected > 0 {
		e.wrong("found", "empty; say how many of the trees had finds, 0 for none")
	}
	e.r.Note = a.value(row, "note")
	e.common()
	a.rows = append(a.rows, e.assembled)
}

// common reads what rows of every kind may have, beside what a note told.
func (e *entry) common() {
	a, row, r := e.a, e.row, &e.r
	r.lineNumber = row.at
	var err error
	if text := a.value(row, "confirmed"); text != "" {
		if r.Confirmed, err = Confirmed(text); err != nil {
			e.wrong("confirmed", "%v", err)
		}
	}
	if n, given, err := parseCount(a.value(row, "candidate")); err != nil {
		e.wrong("candidate", "%v", err)
	} else if given {
		r.Candidate = n
	}
	for _, f := range []struct {
		name string
		into *float64
	}{{"accuracy_m", &r.AccuracyM}, {"minutes", &r.Minutes}} {
		if v, given, err := parseNumber(a.value(row, f.name)); err != nil {
			e.wrong(f.name, "%v", err)
		} else if given {
			*f.into = v
		}
	}
	r.Run, r.Stop, r.Observer = a.value(row, "run"), a.value(row, "stop"), a.value(row, "observer")
	if r.Observer == "" {
		r.Observer = a.o.Observer
	}
	e.place()
	e.day()
}

// day finds the date: the note's own, the column's, the one told for the file.
func (e *entry) day() {
	if !e.r.Date.IsZero() {
		return
	}
	text := e.a.value(e.row, "date")
	lon := math.NaN()
	if e.located {
		lon = e.r.Lon
	}
	switch {
	case text != "":
		d, err := parseDay(text, e.a.o.DateOrder, lon)
		if err != nil {
			e.wrong("date", "%v", err)
		}
		e.r.Date = d
	case !e.a.o.Day.IsZero():
		e.r.Date = dayOf(e.a.o.Day)
	default:
		e.wrong("date", "there is none; write it as 2026-01-31, or tell it for all rows with --date")
	}
}

// place finds the position: the row's point or coordinates, else the middle
// of its candidate.
func (e *entry) place() {
	a, r := e.a, &e.r
	if a.t.placed {
		if math.IsNaN(e.row.point[0]) || math.IsNaN(e.row.point[1]) {
			e.wrong("position", "lon and lat are not two numbers")
			return
		}
		r.Lon, r.Lat, e.located = e.row.point[0], e.row.point[1], true
		return
	}
	x, okX, errX := parseNumber(a.value(e.row, "lon"))
	y, okY, errY := parseNumber(a.value(e.row, "lat"))
	switch {
	case errX != nil:
		e.wrong("lon", "%v", errX)
	case errY != nil:
		e.wrong("lat", "%v", errY)
	case okX != okY:
		e.wrong("lon", "one of lon and lat is empty; tell both or, with a candidate, none")
	case okX && a.move != nil:
		p, err := a.move.Point(orb.Point{x, y})
		if err != nil {
			e.wrong("lon", "%s, %s is no place of %q; look at --crs", number(x), number(y), clipped(a.o.CRS))
			break
		}
		r.Lon, r.Lat, e.located = p[0], p[1], true
	case okX:
		r.Lon, r.Lat, e.located = x, y, true
	case r.Candidate > 0 && a.o.Run != nil:
		if p, ok := a.o.Run.Middle(r.Candidate); ok {
			r.Lon, r.Lat, e.located = p[0], p[1], true
		}
	case r.Candidate > 0:
		e.wrong("candidate", "%d has no position of its own; name the run it is of with --run", r.Candidate)
	default:
		e.wrong("lon", "no position: lon and lat are empty and no candidate is named")
	}
}
