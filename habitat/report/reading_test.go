package report_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"rillwood/habitat/report"
	"rillwood/habitat/results"
	"rillwood/internal/browser"
)

// What the page reads from its picture is what the run's overview holds there:
// half a step of its 240 colours off at most, and the browser's rounding.
func TestSuitabilityUnderThePointer(t *testing.T) {
	run := mapped(t)
	b := browser.Open(t, page(t, run, report.Options{}), browser.Options{})
	b.Until(`document.querySelector("#list tbody tr")`)
	g, err := run.Overview(t.Context(), 1400)
	if err != nil {
		t.Fatal(err)
	}
	// The centre of a cell, from Web Mercator metres.
	at := func(i int) (lat, lon float64) {
		const radius = 6378137.0
		x := g.Bound.Min[0] + (float64(i%g.W)+0.5)*(g.Bound.Max[0]-g.Bound.Min[0])/float64(g.W)
		y := g.Bound.Max[1] - (float64(i/g.W)+0.5)*(g.Bound.Max[1]-g.Bound.Min[1])/float64(g.H)
		return math.Atan(math.Sinh(y/radius)) * 180 / math.Pi, x / radius * 180 / math.Pi
	}
	var cells []int
	var places []string
	for i := g.W + 1; i < g.W*g.H; i += g.W*g.H/300 + 1 {
		lat, lon := at(i)
		cells, places = append(cells, i), append(places, fmt.Sprintf("[%.9f,%.9f]", lat, lon))
	}
	got := browser.Eval[[]*float64](b, "["+strings.Join(places, ",")+"].map(([lat, lon]) => page.valueAt(L.latLng(lat, lon)))")
	high := 0
	for k, i := range cells {
		want := float64(g.Suitability[i])
		switch {
		case math.IsNaN(want) || want < 0.003:
			if got[k] != nil && *got[k] > 0.005 {
				t.Errorf("cell %d reads %.3f, want nothing", i, *got[k])
			}
		case got[k] == nil:
			t.Errorf("cell %d reads nothing, want %.3f", i, want)
		case math.Abs(*got[k]-want) > 0.02:
			t.Errorf("cell %d reads %.3f, want %.3f", i, *got[k], want)
		case want > 0.5:
			high++
		}
	}
	if high < 5 {
		t.Errorf("only %d of %d cells are suitable: too few to tell", high, len(cells))
	}
	// A patch pressed on the map is told under it, with a link to its details.
	rank := run.Candidates[2].Rank
	browser.Eval[int](b, fmt.Sprintf(`(page.open(%d, "map"), 0)`, rank))
	if text := browser.Eval[string](b, `document.getElementById("picked").textContent`); !strings.HasPrefix(text, fmt.Sprintf("Patch %d: ", rank)) {
		t.Errorf("under the map it says %q", text)
	}
	if !browser.Eval[bool](b, `document.querySelector(document.querySelector("#picked a").getAttribute("href")).textContent.includes("Numbers")`) {
		t.Error("the link does not lead to the details")
	}
	b.Quiet()
}

// Records are a table, the newest first, that tells looking from finding.
func TestRecordsOnThePage(t *testing.T) {
	run := mapped(t)
	c := run.Candidates[0]
	elm := run.Hosts[0]
	points := []report.Point{
		{Lon: c.Lon, Lat: c.Lat, Date: "2025-11-02", Host: elm.ID, Condition: "dead-standing", Inspected: 9, Finds: 2, Confirmed: "yes"},
		{Lon: c.Lon, Lat: c.Lat, Date: "2026-01-09", Host: elm.ID, Inspected: 4, Finds: 1, Note: "<b>high on the trunk"},
		{Lon: c.Lon, Lat: c.Lat, Date: "2025-12-24", Host: elm.ID},
		{Lon: c.Lon, Lat: c.Lat, Date: "2025-12-01", Host: "none"},
	}
	b := browser.Open(t, page(t, run, report.Options{Records: &report.Records{Points: points, Trees: 13, Finds: 3}}), browser.Options{W: 320, H: 640})
	b.Until(`document.querySelector("#records tbody tr")`)
	got := browser.Eval[[]string](b, `[...document.querySelectorAll("#records tbody tr")].map(r => [...r.cells].map(c => c.textContent).join("|"))`)
	want := []string{
		"2026-01-09|" + elm.Common + "|–|1 of 4|not told|<b>high on the trunk",
		"2025-12-24|" + elm.Common + "|–|looked, none there|–|",
		"2025-12-01|any host tree|–|looked, no host tree there|–|",
		"2025-11-02|" + elm.Common + "|dead-standing|2 of 9|confirmed|",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("the table reads\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 320 {
		t.Errorf("the page is %d wide on a screen of 320", w)
	}
	b.Accessible()
	b.Quiet()
}

// A hundred patches and fifty thousand streams stay below 5 MB, and say what
// they leave out.
func TestPageStaysSmall(t *testing.T) {
	run := mapped(t)
	for n := len(run.Candidates); len(run.Candidates) < 100; {
		c := run.Candidates[len(run.Candidates)%n]
		c.Rank = len(run.Candidates) + 1
		run.Candidates = append(run.Candidates, c)
	}
	// East of the patches: the sheets of a real county draw few of them.
	w, h := run.Candidates[0].Lon+0.2, run.Candidates[0].Lat
	for i := range 50_000 {
		var l orb.LineString
		for k := range 10 {
			l = append(l, orb.Point{w + float64(i%300)*1e-4 + float64(k)*1e-4, h + float64(i/300)*1e-4 + float64(k%2)*3e-4})
		}
		run.Streams = append(run.Streams, results.Stream{Name: fmt.Sprint("Brook ", i%997), Order: 1 + i%6, Line: orb.MultiLineString{l}})
	}
	start := time.Now()
	path := page(t, run, report.Options{})
	t.Logf("written in %s", time.Since(start))
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(data) > 5_000_000 {
		t.Errorf("the page has %d bytes", len(data))
	}
	if !strings.Contains(string(data), fmt.Sprintf("of %d streams, those of the highest order first", len(run.Streams))) {
		t.Error("the page does not say that streams are left out")
	}
}

// A run without a patch, and without anything that a run may lack, is a page
// with its warnings all the same.
func TestPageWithoutPatches(t *testing.T) {
	run := mapped(t)
	run.Candidates, run.Ways, run.Streams, run.Area, run.Found, run.Hosts = nil, nil, nil, nil, 0, nil
	run.Target, run.Help = results.Target{}, results.Help{}
	run.Cautions = []results.Caution{{Key: "map", Title: "The map is about trees", Text: "A map says where to look, never what is safe to eat.", Short: true}}
	b := browser.Open(t, page(t, run, report.Options{}), browser.Options{})
	b.Until(`document.querySelector(".leaflet-image-layer")`)
	text := browser.Eval[string](b, `document.querySelector("header").textContent`)
	for _, want := range []string{"no patch to show", "never what is safe to eat", "deadly look-alike", "rusty-brown spore print", "at once"} {
		if !strings.Contains(text, want) {
			t.Errorf("the head of the page lacks %q: %q", want, text)
		}
	}
	if n := browser.Eval[int](b, `document.querySelectorAll("#list tbody tr").length`); n != 0 {
		t.Errorf("%d rows without patches", n)
	}
	b.Print(filepath.Join(t.TempDir(), "none.pdf"), browser.A4)
	b.Accessible()
	b.Quiet()
}
