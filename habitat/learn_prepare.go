package habitat

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/field"
)

// LearnOptions say which records count.
type LearnOptions struct {
	OutOfSeason bool // count visits outside the target's months for hit rates too
	Unconfirmed bool // count finds that were told as not confirmed by spore print
	// Learned leaves out the records that are in it already.
	Learned *Posterior
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
	ids   []string // of those records
	// flatness tells whether the run asked for valley flatness, whose surveys
	// have weights of their own.
	flatness bool
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
	d := &fieldData{flatness: run.Record.Survey.Evidence.ValleyFlatness && run.Has("valley-flatness")}
	held := o.Learned.holds()
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
	rows, order := map[rowKey]*fieldRow{}, []rowKey{}
	days := map[rowKey]map[time.Time]*[2]int{}
	var sightings []sighting
	for i, r := range recs {
		if held(r) {
			leave("in the profile already (it has learned from records up to " + o.Learned.Until + ")")
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
			sightings = append(sightings, sighting{r, t, known && r.Inspected > 0})
			used = true
		}
		// What a row that is no good for hit rates is good for still.
		still := "they count for where hosts stand, not for hit rates"
		if !used {
			still = "they count for nothing: only " + kin + " trees tell of bottomland"
		}
		if known && r.Inspected > 0 {
			switch {
			case !o.OutOfSeason && !p.InSeason(int(r.Date.Month())):
				leave("out of season (" + still + ")")
			case !o.Unconfirmed && r.Found > 0 && r.Confirmed == "no":
				leave("finds not confirmed (" + still + ")")
			case r.Condition == field.Alive:
				leave("living trees (" + still + ")")
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
		} else if r.Host == "" {
			leave("host not told")
		} else if !used {
			leave("no tree of a host looked for (it would tell of bottomland for " + kin + " trees only)")
		}
		if used {
			d.used++
			d.ids = append(d.ids, r.ID)
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
	d.stops = stopsOf(run, sightings)
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
