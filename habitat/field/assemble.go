package field

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// exampleStop begins the stop names of the template's examples.
const exampleStop = "example-"

// assembly makes records of a table's rows.
type assembly struct {
	t     *table
	o     Options
	at    map[string]int
	notes []int // columns that may hold the note convention; nil where there is a host column
	move  *vector.Transformer
	out   *Import
	rows  []assembled
	aside []string // texts of waypoints that were no notes
}

type assembled struct {
	r     Record
	where string
	bad   []Problem
}

func assemble(t *table, o Options) (*Import, error) {
	a := &assembly{t: t, o: o, out: &Import{Notes: t.notes}}
	if err := a.prepare(); err != nil {
		return nil, err
	}
	for _, row := range t.rows {
		if a.notes != nil {
			a.takeNotes(row)
		} else {
			a.takeRow(row)
		}
	}
	return a.finish(), nil
}

func (a *assembly) prepare() (err error) {
	if a.o.Vocabulary == nil {
		return errors.New("records are read with a host vocabulary, and none was given")
	}
	if a.at, err = a.t.columns(a.o); err != nil {
		return err
	}
	if a.at["host"] < 0 {
		a.notes = []int{}
		for _, n := range noteColumns {
			if k := a.t.column(n); k >= 0 {
				a.notes = append(a.notes, k)
			}
		}
		if len(a.notes) == 0 {
			return fmt.Errorf("%q: no column \"host\", nor \"name\" or \"desc\" with notes; it has %s; name yours with --map host=COLUMN", a.t.file, quoted(a.t.names))
		}
		a.at["note"] = -1
	} else if a.at["inspected"] < 0 {
		return fmt.Errorf("%q: no column \"inspected\"; it has %s; name yours with --map inspected=COLUMN", a.t.file, quoted(a.t.names))
	} else if a.at["found"] < 0 {
		return fmt.Errorf("%q: no column \"found\"; it has %s; name yours with --map found=COLUMN", a.t.file, quoted(a.t.names))
	}
	if !a.t.placed && (a.at["lon"] < 0 || a.at["lat"] < 0) && a.at["candidate"] < 0 && a.notes == nil {
		return fmt.Errorf("%q: no columns \"lon\" and \"lat\", nor \"candidate\"; it has %s; name yours with --map lon=COLUMN", a.t.file, quoted(a.t.names))
	}
	if a.o.CRS != "" && !a.t.placed {
		crs, err := raster.ParseCRS(a.o.CRS)
		if err != nil {
			return fmt.Errorf("--crs: %w", err)
		}
		if a.move, err = vector.ToWGS84(crs.WKT); err != nil {
			return fmt.Errorf("--crs: %w", err)
		}
	}
	if names := a.t.unused(a.at, a.notes); len(names) > 0 && a.t.unit != "waypoint" {
		a.out.Notes = append(a.out.Notes, fmt.Sprintf("%q: nothing is read from %s", a.t.file, quoted(names)))
	}
	return nil
}

// value is a row's text in one of Columns, "" where there is none.
func (a *assembly) value(row tableRow, column string) string {
	k := a.at[column]
	if k < 0 || k >= len(row.values) {
		return ""
	}
	return Clean(unguard(strings.TrimSpace(row.values[k])))
}

// entry is a row under way.
type entry struct {
	assembled
	a        *assembly
	row      tableRow
	located  bool
	notFound bool // the position was told but is wrong: no second complaint
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
			e.notFound = true
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
	e.notFound = !e.located
}

// takeNotes reads a row whose name or description holds the note convention.
func (a *assembly) takeNotes(row tableRow) {
	told, at := "", -1
	for _, k := range a.notes {
		if k < len(row.values) && looksLikeNote(row.values[k], a.o.Vocabulary) {
			told, at = row.values[k], k
			break
		}
	}
	if at < 0 {
		name := ""
		if k := a.notes[0]; k < len(row.values) {
			name = row.values[k]
		}
		a.aside = append(a.aside, strconv.Quote(clipped(name)))
		return
	}
	list, err := ParseNote(told, a.o.Vocabulary)
	if err != nil {
		e := &entry{a: a, row: row, assembled: assembled{where: a.t.where(row)}}
		e.wrong("note", "%v", err)
		a.rows = append(a.rows, e.assembled)
		return
	}
	for i, r := range list {
		e := &entry{a: a, row: row, assembled: assembled{r: r, where: a.t.where(row)}}
		minutes := r.Minutes
		e.common()
		if i > 0 {
			e.r.Minutes = minutes // told once a stop
		}
		// A note in the description leaves the name to the stop.
		if k := a.t.column("name"); e.r.Stop == "" && k >= 0 && k != at && k < len(row.values) {
			e.r.Stop = Clean(row.values[k])
		}
		a.rows = append(a.rows, e.assembled)
	}
}

// finish checks the rows, names them and keeps those that are right.
func (a *assembly) finish() *Import {
	if n := len(a.aside); n > 0 {
		a.out.Notes = append(a.out.Notes, fmt.Sprintf("%q: %d of %d %ss are no notes and were left aside: %s", a.t.file, n, len(a.t.rows), a.t.unit, strings.Join(a.aside[:min(n, 8)], ", ")))
	}
	kept := a.rows[:0]
	for _, r := range a.rows {
		if strings.HasPrefix(r.r.Stop, exampleStop) {
			a.out.Examples++
			continue
		}
		kept = append(kept, r)
	}
	a.rows = kept
	all := make([]Record, len(a.rows))
	for i := range a.rows {
		all[i] = a.rows[i].r
	}
	Identify(all)
	for i := range a.rows {
		a.rows[i].r = all[i]
	}
	a.check()
	for _, r := range a.rows {
		if len(r.bad) > 0 {
			a.out.Refused++
			a.out.Problems = append(a.out.Problems, r.bad...)
			continue
		}
		a.out.Records = append(a.out.Records, r.r)
	}
	return a.out
}

var firstDay = time.Date(1900, 1, 1, 0, 0, 0, 0, time.UTC)
