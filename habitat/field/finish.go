package field

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

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
