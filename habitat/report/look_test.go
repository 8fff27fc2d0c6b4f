package report_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"rillwood/habitat/report"
	"rillwood/habitat/results"
	"rillwood/habitat/trip"
	"rillwood/internal/browser"
)

// To look at a page with one's own eyes: RILLWOOD_RUN names the folder of a
// run, RILLWOOD_LOOK a folder for the page, its pictures and its prints,
// RILLWOOD_TRIP the trip.json of a day to show.
func TestLook(t *testing.T) {
	folder, into := os.Getenv("RILLWOOD_RUN"), os.Getenv("RILLWOOD_LOOK")
	if folder == "" || into == "" {
		t.Skip("RILLWOOD_RUN and RILLWOOD_LOOK are not set: no page to look at")
	}
	run, err := results.Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(into, "report.html")
	var day *trip.Plan
	if plan := os.Getenv("RILLWOOD_TRIP"); plan != "" {
		if day, err = trip.Read(plan); err != nil {
			t.Fatal(err)
		}
	}
	if err := report.Write(t.Context(), path, run, report.Options{Rates: someRates, Trip: day}); err != nil {
		t.Fatal(err)
	}
	st, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%d candidates, %d streams: %d kB", len(run.Candidates), len(run.Streams), st.Size()>>10)
	open := fmt.Sprintf(`tr[data-rank="%d"] .name button`, run.Candidates[len(run.Candidates)/2].Rank)
	for name, o := range map[string]browser.Options{"desk": {W: 1440, H: 900}, "dark": {W: 1024, H: 768, Dark: true}, "phone": {W: 390, H: 844}} {
		b := browser.Open(t, path, o)
		t.Logf("%s: load event after %s", name, b.Loaded)
		b.Screenshot(filepath.Join(into, name+".png"), false)
		if day != nil {
			browser.Eval[bool](b, `page.map.fitBounds(L.latLngBounds(page.data.trip.legs.flat().map((p) => [p[1], p[0]])), { animate: false }), true`)
			browser.Eval[bool](b, `document.querySelector('input[data-layer="access"]').click(), true`)
			time.Sleep(time.Second)
			b.Screenshot(filepath.Join(into, name+"-day.png"), false)
			browser.Eval[bool](b, `document.getElementById("trip").scrollIntoView(), true`)
			b.Screenshot(filepath.Join(into, name+"-list.png"), false)
			browser.Eval[bool](b, `scrollTo(0, 0), true`)
		}
		b.Click(open)
		b.Until(`document.querySelector("tr.opened")`)
		b.Screenshot(filepath.Join(into, name+"-open.png"), false)
		for _, f := range b.Axe() {
			t.Logf("%s: %s", name, f)
		}
		b.Quiet()
		if name == "desk" {
			b.Print(filepath.Join(into, "overview.pdf"), browser.A4)
		}
	}
}
