package report_test

import (
	"strings"
	"testing"
	"time"

	"rillwood/habitat/report"
	"rillwood/habitat/trip"
	"rillwood/internal/browser"
)

// A planned day stands on the page: its way and stops on the map, its list,
// its cautions; texts stay texts.
func TestTripOnThePage(t *testing.T) {
	run := mapped(t)
	a, b := run.Candidates[0], run.Candidates[1]
	zone := time.FixedZone("", -6*3600)
	at := func(h, m int) time.Time { return time.Date(2026, 12, 5, h, m, 0, 0, zone) }
	k, sunset := 7, at(16, 12)
	leg := func(from, to [2]float64) trip.Leg {
		return trip.Leg{Minutes: 12, Metres: 640, Line: [][2]float64{from, to}}
	}
	start, first, second := [2]float64{a.Lon + 0.002, a.Lat}, [2]float64{a.Lon, a.Lat}, [2]float64{b.Lon, b.Lat}
	home := leg(second, start)
	plan := &trip.Plan{
		Format: trip.Format, Run: run.ID, Date: "2026-12-05", Zone: "UTC-06:00", Start: trip.Spot{Lon: start[0], Lat: start[1], Name: "<b>Lot"},
		Leave: at(8, 0), Back: at(14, 0), BackBy: at(15, 27), Daylight: trip.Daylight{Sunset: &sunset}, Home: &home,
		Stops: []trip.Stop{
			{Rank: a.Rank, Way: leg(start, first), Arrive: at(8, 12), Depart: at(10, 0), Trees: 20, Finds: 1.5, MoveOn: &k, Hosts: []string{"<i>elm"}, Access: "open", Lon: a.Lon, Lat: a.Lat},
			{Rank: b.Rank, Way: leg(first, second), Arrive: at(10, 12), Depart: at(13, 48), Trees: 30, Finds: 2, Hosts: []string{"ash"}, Access: "unknown", Lon: b.Lon, Lat: b.Lat},
		},
		Cautions: []string{"Tell <someone>."}, NotKnown: []string{"fences"},
		Reserve: []trip.Reserve{{Label: "9", Trees: 4, Finds: 0.3, Access: "permit"}},
	}
	tab := browser.Open(t, page(t, run, report.Options{Trip: plan}), browser.Options{W: 1280, H: 900})
	tab.Until(`document.querySelectorAll("#map .daystop").length === 3`)
	if got := browser.Eval[int](tab, `document.querySelectorAll('#map path[stroke="#6a1b6b"]').length`); got != 3 {
		t.Errorf("%d legs are drawn, want 3", got)
	}
	text := browser.Eval[string](tab, `document.getElementById("trip").innerText.replace(/\s+/g, " ")`)
	for _, want := range []string{"A day out: Saturday 5 December 2026", "from <b>Lot", "at the latest 15:27", "sunset 16:12", "7 empty", "<i>elm", "Tell <someone>.", "patch 9 (4 trees", "Not known to this plan: fences."} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q: %s", want, text)
		}
	}
	tab.Click(`#day tr[data-stop] button`)
	tab.Until(`document.querySelector("tr.opened")`)
	tab.Click(`#layers input[data-layer="trip"]`)
	tab.Until(`document.querySelectorAll("#map .daystop").length === 0`)
	tab.Accessible()
	tab.Quiet()
}
