package field

import (
	"errors"
	"fmt"
	"strings"

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
	r       Record
	where   string
	located bool
	bad     []Problem
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
