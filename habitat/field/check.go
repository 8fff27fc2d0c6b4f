package field

import (
	"fmt"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geo"
)

// Limits beyond which a row is flagged or refused (common practice, no source).
const (
	poorAccuracyM = 100.0 // worse positions are flagged
	manyTrees     = 1000  // more at one stop are flagged
	longMinutes   = 24 * 60.0
	stopSpreadM   = 500.0 // metres between rows of one stop, flagged beyond
	candidateAway = 500.0 // metres from its candidate beyond the accuracy, flagged
)

// Flags that a record may carry.
const (
	FlagAccuracy    = "accuracy worse than 100 m"
	FlagUnconfirmed = "find not confirmed"
	FlagNotThis     = "find is not the target by its print"
	FlagRepeated    = "same as another row"
	FlagManyTrees   = "more than 1000 trees"
	FlagAway        = "away from its candidate"
	FlagSpread      = "rows of its stop more than 500 m apart"
	FlagTight       = "all stops of its file within 30 m"
)

func metresApart(a, b orb.Point) float64 { return geo.DistanceHaversine(a, b) }

// check judges every row on its own, then the file.
func (a *assembly) check() {
	for i := range a.rows {
		a.checkRow(&a.rows[i])
	}
	a.checkRepeats()
	a.checkStops()
	a.checkSpot()
}

func (a *assembly) checkRow(row *assembled) {
	r := &row.r
	wrong := func(field, format string, args ...any) {
		row.bad = append(row.bad, Problem{File: a.t.file, Where: row.where, Field: field, Text: fmt.Sprintf(format, args...)})
	}
	flag := func(f string) { r.Flags = append(r.Flags, f) }
	broken := len(row.bad) > 0
	if r.Found > r.Inspected && !broken {
		wrong("found", "%d of %d trees inspected; finds are counted in trees, so they cannot be more", r.Found, r.Inspected)
	}
	if !broken && r.Inspected > 0 && (r.Host == NoHost || r.Host == "") {
		wrong("host", "%d trees inspected and no host named; name it, or write none with 0 trees", r.Inspected)
	}
	if !broken && r.Host == "" && r.Inspected == 0 {
		wrong("host", "empty; name the host that was looked for, or none when no host tree is there")
	}
	if r.AccuracyM < 0 {
		wrong("accuracy_m", "%s is less than nought", number(r.AccuracyM))
	}
	if r.Minutes < 0 || r.Minutes > longMinutes {
		wrong("minutes", "%s: want minutes at one stop, up to %g", number(r.Minutes), longMinutes)
	}
	if !r.Date.IsZero() {
		switch {
		case r.Date.Before(firstDay):
			wrong("date", "%s is before 1900; look at the year", r.Day())
		case !a.o.Today.IsZero() && r.Date.After(dayOf(a.o.Today).AddDate(0, 0, 1)):
			wrong("date", "%s is in the future; look at the year, and at the clock of this machine", r.Day())
		}
	}
	if a.o.Run != nil {
		switch _, listed := a.o.Run.Middle(r.Candidate); {
		case r.Candidate > 0 && r.Run != "" && r.Run != a.o.Run.ID:
			wrong("run", "candidate %d is of run %q, --run is %q; name that run's folder", r.Candidate, clipped(r.Run), a.o.Run.ID)
		case r.Candidate > 0 && !listed:
			wrong("candidate", "%d is not in the shortlist of run %q, which has %d", r.Candidate, a.o.Run.ID, len(a.o.Run.candidates))
		case r.Candidate > 0:
			r.Run = a.o.Run.ID
		}
	}
	if row.located {
		a.checkPlace(r, wrong, flag)
	}
	if r.AccuracyM > poorAccuracyM {
		flag(FlagAccuracy)
	}
	if r.Found > 0 && r.Confirmed == "" {
		flag(FlagUnconfirmed)
	}
	if r.Found > 0 && r.Confirmed == "no" {
		flag(FlagNotThis)
	}
	if r.Inspected > manyTrees {
		flag(FlagManyTrees)
	}
}

func (a *assembly) checkPlace(r *Record, wrong func(string, string, ...any), flag func(string)) {
	run := a.o.Run
	at := number(r.Lon) + ", " + number(r.Lat)
	switch {
	case !onGlobe(r.Lon, r.Lat) && onGlobe(r.Lat, r.Lon):
		wrong("lat", "%s: latitudes end at 90; lon and lat look swapped", at)
	case !onGlobe(r.Lon, r.Lat):
		wrong("lon", "%s is no place in degrees; name the system the coordinates are in with --crs", at)
	case r.Lon == 0 && r.Lat == 0:
		wrong("lon", "0, 0 is what devices write that know no place; leave the row out or find its place")
	case run == nil:
	case !run.Inside(r.Lon, r.Lat):
		switch {
		case run.Inside(r.Lat, r.Lon):
			wrong("lon", "%s is outside the map of run %q and inside it only with lon and lat swapped: they look swapped", at, run.ID)
		case run.Inside(-r.Lon, r.Lat):
			wrong("lon", "%s is outside the map of run %q and inside it with the sign of lon changed: west is negative", at, run.ID)
		default:
			wrong("lon", "%s is outside the map of run %q; look at the place, or add the trip without --run", at, run.ID)
		}
	case r.Candidate > 0 && run.Away(r.Candidate, r.Lon, r.Lat) > candidateAway+r.AccuracyM:
		flag(FlagAway)
	}
}

// checkRepeats finds rows that say the same in every field. Of a single tree that
// may be so, of a count it is a row entered twice.
func (a *assembly) checkRepeats() {
	first := map[string]int{}
	for i := range a.rows {
		row := &a.rows[i]
		if len(row.bad) > 0 {
			continue
		}
		key := digest(row.r.content()...)
		k, seen := first[key]
		if !seen {
			first[key] = i
			continue
		}
		if row.r.Inspected == 1 {
			row.r.Flags = append(row.r.Flags, FlagRepeated)
			continue
		}
		row.bad = append(row.bad, Problem{File: a.t.file, Where: row.where,
			Text: fmt.Sprintf("the same as %s in every field; take one of them away, or tell two stops apart by name", a.rows[k].where)})
	}
}

// checkStops finds stops whose rows lie apart, as when two places have one name.
func (a *assembly) checkStops() {
	boxes := map[string]orb.Bound{}
	for _, row := range a.rows {
		p := orb.Point{row.r.Lon, row.r.Lat}
		key := digest(row.r.Day(), row.r.Stop, row.r.Observer)
		if len(row.bad) > 0 {
			continue
		}
		b, seen := boxes[key]
		if !seen {
			b = p.Bound()
		}
		boxes[key] = b.Extend(p)
	}
	for i := range a.rows {
		row := &a.rows[i]
		b, seen := boxes[digest(row.r.Day(), row.r.Stop, row.r.Observer)]
		if seen && len(row.bad) == 0 && metresApart(b.Min, b.Max) > stopSpreadM {
			row.r.Flags = append(row.r.Flags, FlagSpread)
		}
	}
}
