package pack

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rillwood/habitat/trip"
)

// aDay is a plan whose texts are as bad as layers can make them.
func aDay() *trip.Plan {
	zone := time.FixedZone("", -6*3600)
	at := func(h, m int) time.Time { return time.Date(2026, 12, 5, h, m, 0, 0, zone) }
	k := 7
	leg := trip.Leg{Minutes: 10, Metres: 500, Line: [][2]float64{{-87.001, 43.001}, {-87.002, 43.002}}}
	return &trip.Plan{
		Format: trip.Format, Caution: "A map says where to look, never what is safe to eat.", Run: "0123", Name: "County <&> \x07", Date: "2026-12-05", Zone: "UTC-06:00",
		Start: trip.Spot{Lon: -87.001, Lat: 43.001, Name: "Lot \"A\" <b>"}, Leave: at(8, 0), Back: at(12, 0), BackBy: at(15, 0),
		Stops: []trip.Stop{{Rank: 3, Part: "b", Way: leg, Arrive: at(8, 10), Depart: at(11, 0), Trees: 20, MoveOn: &k, Hosts: []string{"American elm"}, Access: "open", Note: "ask & see", Lon: -87.002, Lat: 43.002}},
		Home:  &leg, Cautions: []string{"Tell someone."}, Warnings: []trip.Warning{{Title: "A deadly twin", Text: "Deadly Galerina."}},
	}
}

func TestTripGPX(t *testing.T) {
	path := filepath.Join(t.TempDir(), "trip.gpx")
	if err := WriteTrip(path, aDay()); err != nil {
		t.Fatal(err)
	}
	text := read(t, path)
	g := parsed(t, text)
	if len(g.Points) != 2 || len(g.Routes) != 1 || len(g.Routes[0].Points) != 3 || len(g.Tracks) != 1 || len(g.Tracks[0].Segments) != 2 {
		t.Errorf("%d waypoints, %d routes, %d tracks", len(g.Points), len(g.Routes), len(g.Tracks))
	}
	if p := g.Points[1]; p.Name != "1 RW03b" || p.Cmt != "08:10 to 11:00, 20 trees, move on after 7 empty" {
		t.Errorf("stop: %+v", p)
	}
	for _, want := range []string{"DEADLY TWIN: Deadly Galerina.", "Tell someone.", "never what is safe to eat"} {
		if !strings.Contains(g.Metadata.Desc, want) {
			t.Errorf("the description does not say %q", want)
		}
	}
	empty := aDay()
	empty.Stops, empty.Home = nil, nil
	none := filepath.Join(t.TempDir(), "none.gpx")
	if err := WriteTrip(none, empty); err != nil {
		t.Fatal(err)
	}
	valid(t, path, none)
}
