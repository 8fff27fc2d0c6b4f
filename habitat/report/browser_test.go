package report_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rillwood/habitat/chart"
	"rillwood/habitat/report"
	"rillwood/habitat/results"
	"rillwood/internal/browser"
)

// page writes the run's page into a folder of the test.
func page(t *testing.T, run *results.Run, o report.Options) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "report.html")
	if err := report.Write(t.Context(), path, run, o); err != nil {
		t.Fatal(err)
	}
	return path
}

var someRates = []chart.Rate{{Host: "American elm", Trees: 46, Finds: 4, Interval: chart.Interval{Mean: 0.084, Low: 0.03, High: 0.16}, Before: &chart.Interval{Mean: 0.075, Low: 0.009, High: 0.19}}}

func ranks(b *browser.Tab) []int {
	return browser.Eval[[]int](b, `[...document.querySelectorAll("#list tbody tr[data-rank]")].map(r => Number(r.dataset.rank))`)
}

// The page works from disk, alone, with mouse and keys, on a desk.
func TestPageInABrowser(t *testing.T) {
	run := mapped(t)
	b := browser.Open(t, page(t, run, report.Options{Rates: someRates}), browser.Options{})
	t.Logf("load event after %s", b.Loaded)
	b.Until(`document.querySelector("#list tbody tr")`)
	if got := ranks(b); len(got) != len(run.Candidates) || !slices.IsSorted(got) {
		t.Errorf("the list shows %v, want all %d candidates by rank", got, len(run.Candidates))
	}
	b.Accessible()

	t.Run("layers", func(t *testing.T) {
		names := browser.Eval[[]string](b, `[...document.querySelectorAll("#layers input")].map(i => i.dataset.layer)`)
		want := []string{"relief", "suitability", "streams", "access", "ways", "entries", "patches", "area"}
		if !slices.Equal(names, want) {
			t.Fatalf("layers %v, want %v", names, want)
		}
		const shown = `document.querySelectorAll(".leaflet-pane img, .leaflet-pane path, .leaflet-marker-icon").length`
		for _, n := range names {
			before := browser.Eval[int](b, shown)
			b.Click(fmt.Sprintf(`#layers input[data-layer=%q]`, n))
			after := browser.Eval[int](b, shown)
			if before == after {
				t.Errorf("toggling %s changes nothing on the map", n)
			}
			b.Click(fmt.Sprintf(`#layers input[data-layer=%q]`, n))
			if again := browser.Eval[int](b, shown); again != before {
				t.Errorf("%s toggled twice: %d marks, before %d", n, again, before)
			}
		}
		browser.Eval[int](b, `(() => { const o = document.getElementById("opacity"); o.value = 30; o.dispatchEvent(new Event("input")); return 0; })()`)
		if got := browser.Eval[string](b, `document.getElementById("suitability").style.opacity`); got != "0.3" {
			t.Errorf("suitability has opacity %q after the slider was set to 30", got)
		}
	})

	t.Run("sorting", func(t *testing.T) {
		value := map[string]func(c *results.Candidate) float64{
			"score": func(c *results.Candidate) float64 { return c.Score }, "ha": func(c *results.Candidate) float64 { return c.AreaHa },
			"suitability": func(c *results.Candidate) float64 { return c.SMean }, "finds": func(c *results.Candidate) float64 { return c.Finds },
			"rank": func(c *results.Candidate) float64 { return float64(-c.Rank) },
		}
		for _, id := range []string{"score", "ha", "suitability", "finds", "rank"} {
			b.Click(fmt.Sprintf(`th button[data-sort=%q]`, id))
			for i, got := 1, ranks(b); i < len(got); i++ {
				if x, y := value[id](run.Candidate(got[i-1])), value[id](run.Candidate(got[i])); x < y {
					t.Errorf("by %s: candidate %d (%g) stands before %d (%g)", id, got[i-1], x, got[i], y)
				}
			}
		}
		for _, id := range []string{"stream", "check", "walk", "access"} {
			b.Click(fmt.Sprintf(`th button[data-sort=%q]`, id))
			if n := len(ranks(b)); n != len(run.Candidates) {
				t.Errorf("by %s: %d rows", id, n)
			}
			if got := browser.Eval[string](b, `document.querySelector("th[aria-sort] button").dataset.sort`); got != id {
				t.Errorf("aria-sort stands on %s, want %s", got, id)
			}
		}
		b.Click(`th button[data-sort="rank"]`)
	})

	t.Run("sieve", func(t *testing.T) {
		set := func(id, value string) {
			browser.Eval[int](b, fmt.Sprintf(`(() => { const e = document.getElementById(%q); e.value = %q; e.dispatchEvent(new Event("input", {bubbles: true})); return 0; })()`, id, value))
		}
		set("far", "500")
		for _, r := range ranks(b) {
			if w := run.Candidate(r).Walk; w == nil || !w.OK || w.DistanceM > 500 {
				t.Errorf("candidate %d is shown within 500 m", r)
			}
		}
		set("far", "")
		set("who", "open")
		open := 0
		for _, c := range run.Candidates {
			if c.Access == "open" {
				open++
			}
		}
		if n := len(ranks(b)); n != open || open == 0 {
			t.Errorf("%d open candidates shown, want %d (and some)", n, open)
		}
		if got := browser.Eval[string](b, `document.getElementById("count").textContent`); got != fmt.Sprintf("%d of %d patches", open, len(run.Candidates)) {
			t.Errorf("the count says %q", got)
		}
		set("who", "")
		set("find", "no such words")
		if n := len(ranks(b)); n != 0 {
			t.Errorf("%d rows for words that are nowhere", n)
		}
		set("find", "")
	})

	t.Run("list and map", func(t *testing.T) {
		first, second := run.Candidates[0].Rank, run.Candidates[1].Rank
		b.Click(fmt.Sprintf(`tr[data-rank="%d"] .name button`, second))
		b.Until(`document.querySelector("tr.opened")`)
		if got := browser.Eval[string](b, `document.querySelector(".number.on b").textContent`); got != strconv.Itoa(second) {
			t.Errorf("the map lights up %q, want %d", got, second)
		}
		if text := browser.Eval[string](b, `document.querySelector("tr.opened").textContent`); !strings.Contains(text, run.Candidates[1].Why) {
			t.Error("the details lack the why-words")
		}
		b.Accessible()
		b.Scheme(true)
		b.Accessible()
		b.Scheme(false)
		// What the pointer or the focus is on lights up on the other side.
		third := run.Candidates[2].Rank
		lit := func(event string) bool {
			return browser.Eval[bool](b, fmt.Sprintf(`(document.querySelector('tr[data-rank="%d"]').dispatchEvent(new Event(%q)), [...document.querySelectorAll(".number.on b")].some(e => e.textContent === "%d"))`, third, event, third))
		}
		if !lit("mouseenter") || lit("mouseleave") {
			t.Errorf("the map does not light up patch %d while the pointer is on its row, or after", third)
		}
		// A click on a number of the map opens its row.
		browser.Eval[int](b, fmt.Sprintf(`([...document.querySelectorAll(".number b")].find(e => e.textContent === "%d").click(), 0)`, first))
		b.Until(fmt.Sprintf(`document.querySelector('tr[data-rank="%d"] + tr.opened')`, first))
		b.Key("\x1b") // Escape
		b.Until(`!document.querySelector("tr.opened")`)
		if got := browser.Eval[string](b, `document.activeElement.closest("tr").dataset.rank`); got != strconv.Itoa(first) {
			t.Errorf("after Escape the focus is on candidate %s, want %d", got, first)
		}
		b.Key(browser.ArrowDown)
		if got := browser.Eval[string](b, `document.activeElement.closest("tr").dataset.rank`); got != strconv.Itoa(second) {
			t.Errorf("after the arrow down the focus is on candidate %s, want %d", got, second)
		}
		b.Key("\r")
		b.Until(fmt.Sprintf(`document.querySelector('tr[data-rank="%d"] + tr.opened')`, second))
	})

	t.Run("printing", func(t *testing.T) {
		overview := filepath.Join(t.TempDir(), "overview.pdf")
		b.Print(overview, browser.A4)
		for text, i := onPaper(t, overview), 0; i < len(run.Cautions); i++ {
			if c := run.Cautions[i].Text; !strings.Contains(text, squeezed(c)) {
				t.Errorf("the printed page lacks the caution %q", c)
			}
		}
		for _, i := range []int{0, 3, 5} {
			b.Click(fmt.Sprintf(`[data-choose="%d"]`, run.Candidates[i].Rank))
		}
		pdf := filepath.Join(t.TempDir(), "sheets.pdf")
		for name, paper := range map[string]browser.Paper{"A4": browser.A4, "letter": browser.Letter} {
			b.Print(pdf, paper)
			if n := pages(t, pdf); n != 3 {
				t.Errorf("three sheets on %s take %d pages", name, n)
			}
		}
	})
	b.Quiet()
}

// A phone: nothing runs out of the screen, with all open, in the dark as well.
func TestPageOnAPhone(t *testing.T) {
	run := mapped(t)
	c := run.Candidates[0]
	all := report.Options{Rates: someRates, Records: &report.Records{
		Points:      []report.Point{{Lon: c.Lon, Lat: c.Lat, Date: "2026-01-09", Host: run.Hosts[0].ID, Inspected: 46, Finds: 4}},
		Weights:     []chart.Weight{{Name: "height", Words: "height above the stream", Before: chart.Interval{Mean: -1, Low: -1.5, High: -0.5}, After: chart.Interval{Mean: -1.2, Low: -1.4, High: -1}}},
		Calibration: chart.Calibration("Calibration of the map: finds", []chart.Bin{{Said: 0.1, Seen: 0.2, Low: 0.05, High: 0.5, Found: 4, Of: 20}}, 0.95),
		Trees:       46, Finds: 4,
	}}
	b := browser.Open(t, page(t, run, all), browser.Options{W: 320, H: 640})
	b.Until(`document.querySelector("#list tbody tr")`)
	top := browser.Eval[float64](b, `scrollTo(0, 0), document.querySelector(".alarm").getBoundingClientRect().top`)
	if top > 320 {
		t.Errorf("the warning begins %g px down", top)
	}
	// The first press of Tab offers the way past the map.
	b.Key("\t")
	b.Key("\r")
	b.Until(`document.activeElement.id === "patches"`)
	const records = `document.querySelectorAll(".leaflet-points-pane path").length`
	if n := browser.Eval[int](b, records); n != 1 {
		t.Errorf("%d records on the map, want 1", n)
	}
	b.Click(`#layers input[data-layer="points"]`)
	if n := browser.Eval[int](b, records); n != 0 {
		t.Errorf("%d records on the map after they were put away", n)
	}
	b.Click(fmt.Sprintf(`tr[data-rank="%d"] .name button`, c.Rank))
	b.Until(`document.querySelector("tr.opened")`)
	if n := browser.Eval[int](b, `(document.querySelectorAll("details").forEach(d => { d.open = true; }), [...document.querySelectorAll("#figures .numbers table")].filter(t => t.offsetParent).length)`); n != 4 {
		t.Errorf("%d tables of figures are open, want 4", n)
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 320 {
		t.Errorf("the page is %d wide on a screen of 320", w)
	}
	if small := browser.Eval[[]string](b, `[...document.querySelectorAll("#page button, #page select, #page summary, #page input:not([type=checkbox])")].filter(e => e.offsetParent && e.getBoundingClientRect().height < 24).map(e => e.outerHTML)`); len(small) > 0 {
		t.Errorf("too small to touch (WCAG 2.2, 2.5.8: 24 px): %q", small)
	}
	b.Accessible()
	b.Scheme(true)
	b.Accessible()
	b.Quiet()
}

// hostile is text as a stranger's layer might hold it.
const hostile = `</script><img src=x onerror="alert(1)"><svg onload=alert(2)>"'&{{7*7}}` + "\u202e\x07"

// Text of layers and records stays text.
func TestHostileTextStaysText(t *testing.T) {
	run := mapped(t)
	for i := range run.Candidates {
		c := &run.Candidates[i]
		c.Stream, c.Land, c.Evidence, c.Why, c.FirstHost = hostile, []string{hostile}, []string{hostile}, hostile, hostile
		if c.Walk != nil {
			c.Walk.Note, c.Walk.Start, c.Walk.Cautions = hostile, hostile, []string{hostile}
		}
	}
	for i := range run.Streams {
		run.Streams[i].Name = hostile
	}
	for i := range run.Hosts {
		run.Hosts[i].Common, run.Hosts[i].Winter = hostile, hostile
	}
	run.Name, run.Warnings, run.Inputs = hostile, []string{hostile}, []results.Input{{Role: hostile, Path: hostile}}
	b := browser.Open(t, page(t, run, report.Options{
		Rates:   []chart.Rate{{Host: hostile, Interval: chart.Interval{Mean: 0.1, Low: 0.05, High: 0.2}}},
		Records: &report.Records{Points: []report.Point{{Lon: run.Candidates[0].Lon, Lat: run.Candidates[0].Lat, Date: hostile, Host: hostile, Condition: hostile, Note: hostile, Inspected: 2, Finds: 1}}, Notes: []string{hostile}},
	}), browser.Options{})
	b.Until(`document.querySelector("#list tbody tr")`)
	b.Click(fmt.Sprintf(`tr[data-rank="%d"] .name button`, run.Candidates[0].Rank))
	b.Until(`document.querySelector("tr.opened")`)
	b.Click(`#layers input[data-layer="ways"]`)
	if n := browser.Eval[int](b, `document.querySelectorAll("img[src='x'], svg[onload]").length`); n > 0 {
		t.Errorf("%d elements came out of text", n)
	}
	if got := browser.Eval[string](b, `document.querySelector(".name button").textContent`); !strings.Contains(got, "<img src=x") {
		t.Errorf("the name reads %q", got)
	}
	b.Quiet()
}

// Without scripts there is a picture and a table.
func TestPageWithoutScripts(t *testing.T) {
	run := mapped(t)
	path := page(t, run, report.Options{})
	b := browser.Open(t, path, browser.Options{NoScripts: true})
	shot := filepath.Join(t.TempDir(), "still.png")
	b.Screenshot(shot, false)
	if st, err := os.Stat(shot); err != nil || st.Size() < 20_000 {
		t.Errorf("the picture of the page without scripts is nearly empty: %v", err)
	}
	b.Quiet()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), "<noscript>")
	table, _, _ := strings.Cut(rest, "</noscript>")
	if n := strings.Count(table, "<tr>"); n != len(run.Candidates)+1 {
		t.Errorf("the table for readers without scripts has %d rows, want %d and a head", n, len(run.Candidates))
	}
}

// The same run gives the same page, which names no address outside itself.
func TestPageIsTheSameAndAlone(t *testing.T) {
	run := mapped(t)
	read := func() string {
		data, err := os.ReadFile(page(t, run, report.Options{Rates: someRates}))
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	a := read()
	if a != read() {
		t.Error("two pages of one run differ")
	}
	for _, what := range []string{`default-src &#39;none&#39;`, "A map says where to look", "1-800-222-1222", "Redistributions in binary form must reproduce"} {
		if !strings.Contains(a, what) {
			t.Errorf("the page lacks %q", what)
		}
	}
	for _, c := range run.Cautions {
		quoted, _ := json.Marshal(c.Title)
		if !strings.Contains(a, strings.Trim(string(quoted), `"`)) {
			t.Errorf("the page lacks the caution %q", c.Title)
		}
	}
	// Every address an element could load is data; what scripts hold in texts of
	// their own is caught by the browser.
	a = regexp.MustCompile(`(?s)<script>.*?</script>`).ReplaceAllString(a, "")
	for _, m := range regexp.MustCompile(`<[a-z]+ [^>]*(?:src|href)="([^"]*)"`).FindAllStringSubmatch(a, -1) {
		// tel: loads nothing; it rings the poison line when pressed.
		if u := m[1]; !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "#") && u != "tel:1-800-222-1222" {
			t.Errorf("the page names %.60q", u)
		}
	}
}

// onPaper gives the words of a PDF, all in one line.
func onPaper(t *testing.T, pdf string) string {
	t.Helper()
	out, err := exec.Command("pdftotext", "-raw", pdf, "-").Output()
	if err != nil {
		t.Skipf("pdftotext is missing or fails (%v): run scripts/install test", err)
	}
	return squeezed(string(out))
}

// squeezed is a text without spaces and hyphens, for lines break where they
// like.
func squeezed(s string) string {
	return strings.NewReplacer("-", "", "\u00ad", "").Replace(strings.Join(strings.Fields(s), ""))
}

// pages counts the pages of a PDF.
func pages(t *testing.T, pdf string) int {
	t.Helper()
	out, err := exec.Command("pdfinfo", pdf).Output()
	if err != nil {
		t.Skipf("pdfinfo is missing or fails (%v): run scripts/install test", err)
	}
	m := regexp.MustCompile(`(?m)^Pages:\s+(\d+)`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("pdfinfo says no pages: %s", out)
	}
	n, _ := strconv.Atoi(string(m[1]))
	return n
}
