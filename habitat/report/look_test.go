package report_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"rillwood/habitat/report"
	"rillwood/habitat/results"
	"rillwood/internal/browser"
)

// To look at a page with one's own eyes: RILLWOOD_RUN names the folder of a
// run, RILLWOOD_LOOK a folder for the page, its pictures and its prints.
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
	if err := report.Write(t.Context(), path, run, report.Options{Rates: someRates}); err != nil {
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
