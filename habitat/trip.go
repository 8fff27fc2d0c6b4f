package habitat

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/daylight"
	"rillwood/habitat/orient"
	"rillwood/habitat/results"
	"rillwood/habitat/trip"
	"rillwood/habitat/walking"
	"rillwood/raster"
	"rillwood/vector"
)

// TripOptions say what day is planned. Zeros mean the defaults of
// DefaultTripOptions where a field has one.
type TripOptions struct {
	Survey  string // file of the survey; "" = survey.yaml beside the run
	Profile string // that the run was made with, where it is not built in
	Lon     float64
	Lat     float64
	Parking int // start from the parking place of this candidate instead; 0 = from Lon, Lat

	Year, Month, Day int
	Zone             *time.Location
	ZoneName         string
	Leave, BackBy    *int // minutes after midnight by the clock; nil: sunrise, and Spare before sunset
	SpareMin         float64

	Pace        walking.Pace
	TreeMinutes float64
	Wade        bool
	Private     bool
	Only        []int // ranks; empty = all
	Consider    int   // stops that legs are measured between
}

// DefaultTripOptions are the usual figures. Minutes a tree (walk round it, look
// up and at its foot, write a line) and minutes to spare are common practice,
// no source; the pace is Tobler's.
func DefaultTripOptions() TripOptions {
	return TripOptions{SpareMin: 45, Pace: walking.DefaultPace(), TreeMinutes: 4, Consider: 40}
}

// dayFrame is the time there is.
type dayFrame struct {
	light     daylight.Day
	leave, by time.Time
	minutes   float64
}

// PlanTrip plans a day on foot over the patches of a run. Nothing of the run
// is changed.
func PlanTrip(ctx context.Context, folder string, o TripOptions, progress Progress) (*trip.Plan, error) {
	run, err := results.Open(folder)
	if err != nil {
		return nil, err
	}
	if len(run.Candidates) == 0 {
		return nil, fmt.Errorf("the shortlist of the run is empty, so there is nowhere to go; lower shortlist.threshold or shortlist.min_ha of the survey and make the map again")
	}
	start, err := tripStart(run, o)
	if err != nil {
		return nil, err
	}
	day, err := tripDay(start, o)
	if err != nil {
		return nil, err
	}
	opened, err := OpenRun(folder)
	if err != nil {
		return nil, err
	}
	profile, err := opened.LoadProfile(o.Profile)
	if err != nil {
		return nil, err
	}
	survey, notes, err := tripSurvey(run, o.Survey)
	if err != nil {
		return nil, err
	}
	ctx = survey.limited(ctx)
	in, err := OpenInputs(ctx, survey)
	if err != nil {
		return nil, err
	}
	if !raster.SameCRS(in.Frame.WKT, run.Frame.WKT) {
		return nil, fmt.Errorf("survey %q lies in %s, the run in %s; name the survey of this run with --survey", survey.File, in.Frame.Name, run.Frame.Name)
	}
	to, err := vector.FromWGS84(run.Frame.WKT)
	if err != nil {
		return nil, err
	}
	at, err := to.Point(orb.Point{start.Lon, start.Lat})
	if err != nil {
		return nil, fmt.Errorf("start: %w", err)
	}
	if _, _, ok := in.Frame.At(at[0], at[1]); !ok {
		t0 := run.Candidates[0]
		return nil, fmt.Errorf("the start %.5f, %.5f lies outside the map; give latitude first, as in --start %.4f,%.4f", start.Lat, start.Lon, t0.Lat, t0.Lon)
	}
	t := &tripPlanner{run: run, profile: profile, o: o, day: day, start: start, at: at, progress: progress}
	t.ro = runOptions{workers: runtime.NumCPU(), progress: progress}
	if err := t.readGround(ctx, in); err != nil {
		return nil, err
	}
	t.ground.notKnown = append(t.ground.notKnown, notes...)
	if err := t.findSites(ctx); err != nil {
		return nil, err
	}
	if err := t.measureLegs(ctx); err != nil {
		return nil, err
	}
	stage := t.ro.stage("choosing and ordering")
	p := orient.Problem{Legs: t.legs, Budget: day.minutes}
	for _, s := range t.sites {
		p.Sites = append(p.Sites, s.stay.Site())
	}
	best, err := orient.Solve(p)
	if err != nil {
		return nil, err
	}
	stage(0.5)
	// What time is worth, and where to go when some is left: the best plan of a
	// day two hours longer.
	longer := p
	longer.Budget += 2 * 60
	more, err := orient.Solve(longer)
	if err != nil {
		return nil, err
	}
	stage(1)
	return t.plan(ctx, best, more)
}

// tripStart is where the day begins.
func tripStart(run *results.Run, o TripOptions) (trip.Spot, error) {
	if o.Parking == 0 {
		return trip.Spot{Lon: o.Lon, Lat: o.Lat}, nil
	}
	c := run.Candidate(o.Parking)
	if c == nil {
		return trip.Spot{}, fmt.Errorf("no candidate %d on the shortlist, so its parking place is not known", o.Parking)
	}
	if c.Walk == nil || !c.Walk.OK {
		return trip.Spot{}, fmt.Errorf("no way in to candidate %d is known; give the start with --start", o.Parking)
	}
	return trip.Spot{Lon: c.Walk.StartLon, Lat: c.Walk.StartLat, Name: c.Walk.Start}, nil
}

// tripDay is the light of the day and the time between leaving and being back.
func tripDay(start trip.Spot, o TripOptions) (dayFrame, error) {
	light, err := daylight.On(o.Year, o.Month, o.Day, start.Lat, start.Lon, o.Zone)
	if err != nil {
		return dayFrame{}, err
	}
	d := dayFrame{light: light}
	clock := func(m int) time.Time { return time.Date(o.Year, time.Month(o.Month), o.Day, 0, m, 0, 0, o.Zone) }
	switch {
	case light.Light == daylight.None:
		return d, fmt.Errorf("the sun does not rise there on %04d-%02d-%02d", o.Year, o.Month, o.Day)
	case light.Light == daylight.AllDay && (o.Leave == nil || o.BackBy == nil):
		return d, fmt.Errorf("the sun does not set there on %04d-%02d-%02d; give --leave and --back", o.Year, o.Month, o.Day)
	case light.Light == daylight.Usual:
		// Whole minutes, towards the day.
		d.leave = light.Rise.Add(time.Minute - 1).Truncate(time.Minute)
		d.by = light.Set.Add(-time.Duration(o.SpareMin * float64(time.Minute))).Truncate(time.Minute)
	}
	if o.Leave != nil {
		d.leave = clock(*o.Leave)
	}
	if o.BackBy != nil {
		d.by = clock(*o.BackBy)
	}
	if light.Light == daylight.Usual {
		if d.by.After(light.Set) {
			return d, fmt.Errorf("back at %s is after sunset at %s; come back before dusk", d.by.Format("15:04"), light.Set.Format("15:04"))
		}
		if d.leave.Before(light.Rise.Truncate(time.Minute)) {
			return d, fmt.Errorf("leaving at %s is before sunrise at %s; no one sees a tree in the dark", d.leave.Format("15:04"), light.Rise.Format("15:04"))
		}
	}
	if d.minutes = d.by.Sub(d.leave).Minutes(); d.minutes < 10 {
		return d, fmt.Errorf("from %s to %s there is no time for a walk; leave earlier, or spare less than %.0f minutes before sunset", d.leave.Format("15:04"), d.by.Format("15:04"), o.SpareMin)
	}
	return d, nil
}

// inSeason tells whether a month is one in which the target fruits.
func inSeason(run *results.Run, month int) bool {
	return len(run.Target.Months) == 0 || slices.Contains(run.Target.Months, month)
}

// reachM is how far off a patch may lie, in a straight line and at the best
// pace, for the way there and back to fit into a time.
func reachM(p walking.Pace, minutes float64) float64 {
	fastest := max(p.PathKmh, p.OffKmh) / walking.ToblerLevel * walking.Tobler(-0.05)
	return fastest * 1000 / 60 * minutes / 2
}

// awayFrom is the distance from a point to a box.
func awayFrom(b orb.Bound, p orb.Point) float64 {
	dx := max(b.Min[0]-p[0], 0, p[0]-b.Max[0])
	dy := max(b.Min[1]-p[1], 0, p[1]-b.Max[1])
	return math.Hypot(dx, dy)
}
