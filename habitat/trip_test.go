package habitat

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/fixtures"
	"rillwood/habitat/approach"
	"rillwood/habitat/results"
	"rillwood/habitat/trip"
	"rillwood/vector"
)

// tripCounty is a small invented county, mapped once, with survey.yaml beside
// the run.
var tripCounty = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "trip")
	if err != nil {
		return "", err
	}
	c, err := fixtures.New(260, 220, 10, 7)
	if err != nil {
		return "", err
	}
	if err := c.Write(context.Background(), dir, nil); err != nil {
		return "", err
	}
	text := "elevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n" +
		"access: [{path: places.gpkg, layer: parks}, {path: places.gpkg, layer: private, status: private}]\n" +
		"keep_out: [{path: places.gpkg, layer: railway, preset: railways}]\n" +
		"approach: {paths: {path: places.gpkg, layer: paths}, roads: {path: places.gpkg, layer: roads}, parking: {path: places.gpkg, layer: parking}, water: {path: places.gpkg, layer: water}}\n" +
		"shortlist: {min_ha: 0.5}\noutput: {folder: out, layers: none, preview: false}\n"
	survey := filepath.Join(dir, "survey.yaml")
	if err := os.WriteFile(survey, []byte(text), 0o644); err != nil {
		return "", err
	}
	s, err := LoadSurvey(survey)
	if err != nil {
		return "", err
	}
	r, err := Map(context.Background(), s, nil)
	if err != nil {
		return "", err
	}
	return r.Folder, nil
})

func aTrip(t *testing.T, change func(o *TripOptions)) (*trip.Plan, *results.Run) {
	t.Helper()
	folder, err := tripCounty()
	if err != nil {
		t.Fatal(err)
	}
	run, err := results.Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	o := DefaultTripOptions()
	o.Year, o.Month, o.Day, o.Zone, o.Parking = 2026, 12, 5, time.FixedZone("", -6*3600), 1
	if change != nil {
		change(&o)
	}
	p, err := PlanTrip(t.Context(), folder, o, nil)
	if err != nil {
		t.Fatal(err)
	}
	return p, run
}

// A day keeps what it promises: back in time, no water but on bridges, nothing
// private, its times add up, and its stops lie in their patches.
func TestTripKeepsItsPromises(t *testing.T) {
	p, run := aTrip(t, nil)
	if len(p.Stops) == 0 {
		t.Fatal("no stop")
	}
	t.Logf("%d stops, %.1f finds, %.0f m, %d considered, left out: %v", len(p.Stops), p.Totals.Finds, p.Totals.Metres, p.Search.Considered, p.LeftOut)
	if !p.Search.Proven {
		t.Errorf("not proven among %d stops", p.Search.Considered)
	}
	if p.Back.After(p.BackBy) || !p.BackBy.Before(*p.Daylight.Sunset) || p.Leave.Before(p.Daylight.Sunrise.Add(-time.Minute)) {
		t.Errorf("leave %v, back %v, by %v, sunset %v", p.Leave, p.Back, p.BackBy, p.Daylight.Sunset)
	}
	folder, _ := tripCounty()
	in, err := tripWays(t, filepath.Join(filepath.Dir(folder), "survey.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	to, err := vector.FromWGS84(run.Frame.WKT)
	if err != nil {
		t.Fatal(err)
	}
	var streams []orb.Geometry
	for _, s := range run.Streams {
		g, err := to.Geometry(s.Line.Clone())
		if err != nil {
			t.Fatal(err)
		}
		streams = append(streams, g)
	}
	index := approach.NewStreamIndex(streams)
	now := p.Leave
	for i, s := range append(slices.Clone(p.Stops), trip.Stop{Way: *p.Home}) {
		metres := 0.0
		var last orb.Point
		for k, q := range s.Way.Line {
			g, err := to.Point(orb.Point(q))
			if err != nil {
				t.Fatal(err)
			}
			if k > 0 {
				metres += math.Hypot(g[0]-last[0], g[1]-last[1])
				if n := index.Crossings(last, g); n > 0 && !onBridge(in, streams, last, g) {
					t.Errorf("leg %d crosses %d streams off a bridge, from %v to %v", i+1, n, last, g)
				}
			}
			last = g
		}
		if math.Abs(metres-s.Way.Metres) > 0.02*metres+1 {
			t.Errorf("leg %d says %.0f m and draws %.0f m", i+1, s.Way.Metres, metres)
		}
		if s.Way.PrivateM > 0 && s.Way.OffM > 0 && s.Way.PathM == 0 {
			t.Errorf("leg %d goes over %.0f m of private ground off the path", i+1, s.Way.PrivateM)
		}
		now = now.Add(time.Duration(s.Way.Minutes * float64(time.Minute)))
		if i == len(p.Stops) {
			break
		}
		if d := now.Sub(s.Arrive); d > 2*time.Second || d < -2*time.Second {
			t.Errorf("stop %d: arrive %v, the way says %v", i+1, s.Arrive, now)
		}
		now = s.Depart
		c := run.Candidate(s.Rank)
		if c == nil || c.Access == "private" || c.Access == "closed" {
			t.Errorf("stop %d: %+v", i+1, c)
		}
		if s.MoveOn != nil && (*s.MoveOn < 1 || *s.MoveOn >= s.Trees) {
			t.Errorf("stop %d: move on after %d of %d trees", i+1, *s.MoveOn, s.Trees)
		}
		if s.Finds > c.Finds+0.01 || float64(s.Trees) > c.DeadTrees+1 {
			t.Errorf("stop %d: %d trees and %.2f finds of %.0f and %.2f", i+1, s.Trees, s.Finds, c.DeadTrees, c.Finds)
		}
	}
}

// tripWays reads the ways of a survey, as the planner does.
func tripWays(t *testing.T, path string) ([]approach.Way, error) {
	s, err := LoadSurvey(path)
	if err != nil {
		return nil, err
	}
	in, err := OpenInputs(t.Context(), s)
	if err != nil {
		return nil, err
	}
	m := &surveyor{in: in, g: &ground{frame: in.Frame}}
	ways, _, err := m.readWays(t.Context(), s.Approach)
	return ways, err
}

// onBridge tells whether a side of a way runs along a road or a bridge within
// 2 m, where it meets streams.
func onBridge(ways []approach.Way, streams []orb.Geometry, a, b orb.Point) bool {
	near := func(p orb.Point) bool {
		for _, w := range ways {
			if w.Kind != approach.Road && !w.Bridge {
				continue
			}
			for i := 1; i < len(w.Line); i++ {
				if distanceTo(p, w.Line[i-1], w.Line[i]) < 2 {
					return true
				}
			}
		}
		return false
	}
	index := approach.NewStreamIndex(streams)
	const n = 200
	for k := range n {
		p := orb.Point{a[0] + (b[0]-a[0])*float64(k)/n, a[1] + (b[1]-a[1])*float64(k)/n}
		q := orb.Point{a[0] + (b[0]-a[0])*float64(k+1)/n, a[1] + (b[1]-a[1])*float64(k+1)/n}
		if index.Crossings(p, q) > 0 && !near(p) {
			return false
		}
	}
	return true
}

func distanceTo(p, a, b orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	u := 0.0
	if d := dx*dx + dy*dy; d > 0 {
		u = min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/d, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-u*dx, p[1]-a[1]-u*dy)
}

// More leave gives no fewer finds; less time no more; the same day the same plan.
func TestTripIsSensible(t *testing.T) {
	p, _ := aTrip(t, nil)
	again, _ := aTrip(t, nil)
	if d := cmp.Diff(p, again); d != "" {
		t.Error(d)
	}
	for name, change := range map[string]func(o *TripOptions){
		"wading":        func(o *TripOptions) { o.Wade = true },
		"private":       func(o *TripOptions) { o.Private = true },
		"less to spare": func(o *TripOptions) { o.SpareMin = 0 },
		"quicker":       func(o *TripOptions) { o.TreeMinutes = 3 },
	} {
		if more, _ := aTrip(t, change); more.Totals.Finds < p.Totals.Finds-0.1 { // whole trees
			t.Errorf("%s: %.2f finds, %.2f without", name, more.Totals.Finds, p.Totals.Finds)
		}
	}
	noon := 12 * 60
	if half, _ := aTrip(t, func(o *TripOptions) { o.BackBy = &noon }); half.Totals.Finds > p.Totals.Finds || half.Back.After(half.BackBy) || half.BackBy.Hour() != 12 {
		t.Errorf("until noon: %.2f finds, back %v", half.Totals.Finds, half.Back)
	}
	only, _ := aTrip(t, func(o *TripOptions) { o.Only = []int{p.Stops[0].Rank} })
	for _, s := range only.Stops {
		if s.Rank != p.Stops[0].Rank {
			t.Errorf("a stop at patch %d, which was not asked for", s.Rank)
		}
	}
}

func TestTripDay(t *testing.T) {
	eight, four := 8*60, 16*60+30
	for _, c := range []struct {
		name       string
		lat        float64
		month      int
		leave, by  *int
		ok         bool
		from, till string
	}{
		{name: "usual", lat: 43, month: 12, ok: true, from: "07:04", till: "15:28"}, // sunrise and 45 min before sunset of the almanac formulas
		{name: "leave later", lat: 43, month: 12, leave: &eight, ok: true, from: "08:00", till: "15:28"},
		{name: "back in the dark", lat: 43, month: 12, by: &four},
		{name: "polar night", lat: 75, month: 12},
		{name: "midnight sun, no times", lat: 75, month: 6},
		{name: "midnight sun", lat: 75, month: 6, leave: &eight, by: &four, ok: true, from: "08:00", till: "16:30"},
	} {
		o := DefaultTripOptions()
		o.Year, o.Month, o.Day, o.Zone, o.Leave, o.BackBy = 2026, c.month, 5, time.FixedZone("", -6*3600), c.leave, c.by
		d, err := tripDay(trip.Spot{Lon: -87.0, Lat: c.lat}, o)
		if (err == nil) != c.ok {
			t.Errorf("%s: %v", c.name, err)
		} else if c.ok && (d.leave.Format("15:04") != c.from || d.by.Format("15:04") != c.till) {
			t.Errorf("%s: %s to %s, want %s to %s", c.name, d.leave.Format("15:04"), d.by.Format("15:04"), c.from, c.till)
		}
	}
}

// Trees of a patch by host add up to what the shortlist tells.
func TestTreesOfAddUp(t *testing.T) {
	_, run := aTrip(t, nil)
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	pl := &tripPlanner{run: run, profile: p}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		dead, finds := 0.0, 0.0
		for _, k := range pl.treesOf(c, 0.5) {
			dead, finds = dead+k.N, finds+k.N*k.Rate
		}
		if math.Abs(dead-c.DeadTrees/2) > 0.01*c.DeadTrees || math.Abs(finds-c.Finds/2) > 0.01*c.Finds+1e-6 {
			t.Errorf("patch %d: half of it has %.1f dead and %.3f finds, all of it %.1f and %.3f", c.Rank, dead, finds, c.DeadTrees, c.Finds)
		}
	}
}
