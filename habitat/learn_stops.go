package habitat

import (
	"cmp"
	"math"
	"slices"
	"time"

	"rillwood/habitat/field"
)

// stopReachM is how far apart rows of one stop may lie to be one place; farther
// ones are two places with one name. Common practice, no source.
const stopReachM = 100

// sighting is a row that tells whether bottomland hosts stand at a place.
type sighting struct {
	row   field.Record
	terms Terms
	met   bool
}

// stopsOf gathers rows into places. The rows of one stop are one look, though
// each tree has a position of its own: a stop with twenty trees tells no more of
// whether hosts stand there than one with two. A stop is where its first tree
// stands. Places visited again, and stops in one cell, count once: yes if
// any of them met a host.
func stopsOf(run *Run, rows []sighting) []fieldStop {
	slices.SortFunc(rows, func(a, b sighting) int {
		met := func(s sighting) int {
			if s.met {
				return 0
			}
			return 1
		}
		return cmp.Or(a.row.Date.Compare(b.row.Date), cmp.Compare(a.row.Stop, b.row.Stop), cmp.Compare(a.row.Observer, b.row.Observer),
			met(a)-met(b), a.terms.Cell-b.terms.Cell)
	})
	type name struct {
		day            time.Time
		stop, observer string
	}
	places := map[name][]int{} // cells of the places of a stop
	cells := map[int]*fieldStop{}
	for i := range rows {
		s := &rows[i]
		cell := s.terms.Cell
		if s.row.Stop != "" {
			key := name{s.row.Date, s.row.Stop, s.row.Observer}
			at := slices.IndexFunc(places[key], func(c int) bool { return run.apart(c, cell) <= stopReachM })
			if at >= 0 {
				cell = places[key][at]
			} else {
				places[key] = append(places[key], cell)
			}
		}
		stop := cells[cell]
		if stop == nil { // then it is the row's own cell
			stop = &fieldStop{cell: cell, no: 1, terms: s.terms}
			cells[cell] = stop
		}
		if s.met {
			stop.yes, stop.no = 1, 0
		}
	}
	out := make([]fieldStop, 0, len(cells))
	for _, s := range cells {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b fieldStop) int { return a.cell - b.cell })
	return out
}

// apart is the distance of two cells in metres.
func (r *Run) apart(a, b int) float64 {
	w := r.Frame.W
	return r.Frame.Cell * math.Hypot(float64(a%w-b%w), float64(a/w-b/w))
}
