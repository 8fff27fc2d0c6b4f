package habitat

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/field"
)

// LearnOptions say which records count.
type LearnOptions struct {
	OutOfSeason bool // count visits outside the target's months for hit rates too
	Unconfirmed bool // count finds that were told as not confirmed by spore print
	// Until leaves out records up to and including that day: they are in the
	// profile already.
	Until time.Time
}

// fieldRow is what one host at one place yielded in one season.
type fieldRow struct {
	host      int // of the profile
	condition string
	cell      int
	season    int // the year it began
	inspected int
	found     int
	visits    []int8 // found anything, by day
	terms     Terms
}

// fieldStop is a place where someone looked for bottomland hosts.
type fieldStop struct {
	cell    int
	yes, no float64
	terms   Terms
}

// fieldData are records made ready to learn from.
type fieldData struct {
	rows  []fieldRow
	stops []fieldStop
	left  []string // what was left out, and why
	used  int      // records that entered somewhere
	last  time.Time
}

// seasonOf is the year a day's season began: a season runs from July to June,
// so that a winter is one.
func seasonOf(day time.Time) int {
	if day.Month() >= time.July {
		return day.Year()
	}
	return day.Year() - 1
}

// prepare looks records up on the run and gathers them. The trees of one host,
// in one condition, in one cell and season are the same trees, however often
// they were visited: the most inspected and the most found at one visit count.
func prepare(run *Run, p *Profile, recs []field.Record, o LearnOptions) (*fieldData, error) {
	points := make([]orb.Point, len(recs))
	for i, r := range recs {
		points[i] = orb.Point{r.Lon, r.Lat}
	}
	terms, err := run.TermsAt(points)
	if err != nil {
		return nil, err
	}
	d := &fieldData{}
	left := map[string]int{}
	leave := func(why string) { left[why]++ }
	kin := p.Hosts[0].Kin
	hosts := map[string]int{}
	for k, h := range p.Hosts {
		hosts[h.ID] = k
	}
	type rowKey struct {
		host, cell, season int
		condition          string
	}
	type stopKey struct {
		cell int
		day  time.Time
	}
	rows, order := map[rowKey]*fieldRow{}, []rowKey{}
	days := map[rowKey]map[time.Time]*[2]int{}
	met, stopTerms := map[stopKey]bool{}, map[stopKey]Terms{}
	for i, r := range recs {
		if !o.Until.IsZero() && !r.Date.After(o.Until) {
			leave("in the profile already (up to " + o.Until.Format(time.DateOnly) + ")")
			continue
		}
		t := terms[i]
		if !t.OK {
			leave(t.Why)
			continue
		}
		host, known := hosts[r.Host]
		if r.Host != "" && r.Host != field.NoHost && !known {
			leave(fmt.Sprintf("host %q is not in the profile", oneLine(r.Host)))
			continue
		}
		used := false
		// Whether bottomland hosts stand there: told by trees of that kin, or
		// by a row that says they were looked for.
		if known && p.Hosts[host].Kin == kin || r.Host == field.NoHost {
			key := stopKey{t.Cell, r.Date}
			met[key] = met[key] || r.Inspected > 0
			stopTerms[key] = t
			used = true
		}
		if known && r.Inspected > 0 {
			switch {
			case !o.OutOfSeason && !p.InSeason(int(r.Date.Month())):
				leave("out of season (they count for where hosts stand, not for hit rates)")
			case !o.Unconfirmed && r.Found > 0 && r.Confirmed == "no":
				leave("finds not confirmed (they count for where hosts stand, not for hit rates)")
			case r.Condition == field.Alive:
				leave("living trees (they count for where hosts stand, not for hit rates of dead and dying ones)")
			default:
				key := rowKey{host, t.Cell, seasonOf(r.Date), r.Condition}
				row := rows[key]
				if row == nil {
					row = &fieldRow{host: host, condition: r.Condition, cell: t.Cell, season: key.season, terms: t}
					rows[key], days[key] = row, map[time.Time]*[2]int{}
					order = append(order, key)
				}
				if days[key][r.Date] == nil {
					days[key][r.Date] = new([2]int)
				}
				days[key][r.Date][0] += r.Inspected
				days[key][r.Date][1] += r.Found
				used = true
			}
		}
		if used {
			d.used++
			if r.Date.After(d.last) {
				d.last = r.Date
			}
		}
	}
	for _, k := range order {
		r := rows[k]
		r.settle(days[k])
		d.rows = append(d.rows, *r)
	}
	slices.SortStableFunc(d.rows, func(a, b fieldRow) int {
		return cmp.Or(a.host-b.host, a.cell-b.cell, a.season-b.season, cmp.Compare(a.condition, b.condition))
	})
	cells := map[int]*fieldStop{}
	for key, yes := range met {
		s := cells[key.cell]
		if s == nil {
			s = &fieldStop{cell: key.cell, terms: stopTerms[key]}
			cells[key.cell] = s
		}
		// A place visited again tells the same once more: it counts once.
		if yes {
			s.yes, s.no = 1, 0
		} else if s.yes == 0 {
			s.no = 1
		}
	}
	for _, s := range cells {
		d.stops = append(d.stops, *s)
	}
	slices.SortFunc(d.stops, func(a, b fieldStop) int { return a.cell - b.cell })
	for _, why := range sortedKeys(left) {
		d.left = append(d.left, fmt.Sprintf("%d: %s", left[why], why))
	}
	return d, nil
}

// settle takes the most inspected and the most found at one visit; single-tree
// rows of one day have been added up.
func (r *fieldRow) settle(days map[time.Time]*[2]int) {
	var order []time.Time
	for day := range days {
		order = append(order, day)
	}
	slices.SortFunc(order, func(a, b time.Time) int { return a.Compare(b) })
	for _, day := range order {
		n, x := days[day][0], days[day][1]
		r.inspected, r.found = max(r.inspected, n), max(r.found, x)
		r.visits = append(r.visits, int8(min(x, 1)))
	}
}

// flatness tells whether the run asked for valley flatness, whose surveys have
// weights of their own.
func (d *fieldData) flatness() bool {
	return len(d.stops) > 0 && !math.IsNaN(d.stops[0].terms.Flatness)
}
