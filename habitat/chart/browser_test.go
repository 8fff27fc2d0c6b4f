package chart_test

import (
	"fmt"
	"html/template"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rillwood/habitat/chart"
	"rillwood/habitat/results"
	"rillwood/internal/browser"
)

// gallery is one of each figure, with the longest words they meet.
func gallery() []template.HTML {
	var bins []results.Bin
	for i := range 20 {
		bins = append(bins, results.Bin{From: float64(i) / 20, To: float64(i+1) / 20, Ha: float64((20-i)*(20-i)) * 400})
	}
	before := chart.Interval{Mean: 0.075, Low: 0.009, High: 0.19}
	rates := []chart.Rate{
		{Host: "American elm", Trees: 46, Finds: 4, Interval: chart.Interval{Mean: 0.084, Low: 0.03, High: 0.16}, Before: &before},
		{Host: "Common hackberry of the lower Mississippi wetlands", Trees: 12345, Finds: 6789, Interval: chart.Interval{Mean: 0.55, Low: 0.541, High: 0.559}, Before: &before},
		{Host: "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW", Trees: 8, Interval: chart.Interval{Mean: 0.0004, Low: 0, High: 0.01}},
		{Host: strings.Repeat("小川", 30), Trees: 8, Finds: 1, Interval: chart.Interval{Mean: 0.1, Low: 0.01, High: 0.3}},
	}
	weights := []chart.Weight{
		{Name: "height", Words: "height above the stream", Before: chart.Interval{Mean: -1.2, Low: -1.6, High: -0.8}, After: chart.Interval{Mean: -1.4, Low: -1.7, High: -1.1}},
		{Name: "flatness", Words: "flatness of the valley floor", Before: chart.Interval{Mean: 0.4, Low: -0.1, High: 0.9}, After: chart.Interval{Mean: 0.5, Low: 0.2, High: 0.8}},
	}
	var points []chart.Bin
	for i := range 8 {
		v := float64(i+1) / 12
		points = append(points, chart.Bin{Said: v, Seen: v * 0.9, Low: v * 0.6, High: min(1, v*1.3), Found: v * 1000, Of: float64(100 * (i + 1))})
	}
	return []template.HTML{chart.Histogram(bins, 0.62), chart.Histogram(bins, 0.1), chart.Rates(rates), chart.Weights(weights), chart.Calibration("Calibration of the map: trees with finds", points, 0.95)}
}

// In a browser, as narrow as the narrowest phone: words are legible, lie within
// their figures and over no others, and nothing keeps anybody from the numbers.
func TestFiguresInABrowser(t *testing.T) {
	var s strings.Builder
	s.WriteString(`<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Figures</title><link rel="icon" href="data:,"><style>
figure { margin: 0 0 12px } body { margin: 0 19px; font: 16px/1.5 system-ui, "DejaVu Sans", sans-serif } .chart { width: 100%; height: auto; max-width: 520px } .scroll { overflow-x: auto } th, td { white-space: nowrap; padding: 3px 5px }
</style><main><h1>Figures</h1>` + "\n")
	all := gallery()
	for _, f := range all {
		s.WriteString("<figure>" + string(f) + "</figure>\n")
	}
	s.WriteString("</main></html>\n")
	file := filepath.Join(t.TempDir(), "figures.html")
	if err := os.WriteFile(file, []byte(s.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	b := browser.Open(t, file, browser.Options{W: 320, H: 640})
	type word struct {
		Figure                         int
		Words                          string
		Left, Right, Top, Bottom, Size float64
		Within                         bool
	}
	words := browser.Eval[[]word](b, `[...document.querySelectorAll("svg")].flatMap((svg, i) => [...svg.querySelectorAll("text")].map(e => {
		const r = e.getBoundingClientRect(), s = svg.getBoundingClientRect();
		return {Figure: i, Words: e.textContent, Left: r.left, Right: r.right, Top: r.top, Bottom: r.bottom, Size: parseFloat(getComputedStyle(e).fontSize) * s.width / svg.viewBox.baseVal.width,
			Within: r.left >= s.left - 0.5 && r.right <= s.right + 0.5 && r.top >= s.top - 4 && r.bottom <= s.bottom + 4};
	}))`)
	if len(words) < 40 {
		t.Fatalf("only %d words are drawn", len(words))
	}
	for i, w := range words {
		if !w.Within {
			t.Errorf("figure %d: %q runs out of it", w.Figure, w.Words)
		}
		if w.Size < 10 { // common practice, no source
			t.Errorf("figure %d: %q has letters of %.1f px", w.Figure, w.Words, w.Size)
		}
		for _, o := range words[:i] {
			// Boxes of lines hold room above and below the letters.
			const above, below = 3, 3
			if o.Figure == w.Figure && o.Left < w.Right && w.Left < o.Right && o.Top+above < w.Bottom-below && w.Top+above < o.Bottom-below {
				t.Errorf("figure %d: %q lies over %q", w.Figure, w.Words, o.Words)
			}
		}
	}
	if shot := os.Getenv("RILLWOOD_LOOK"); shot != "" {
		b.Screenshot(filepath.Join(shot, "figures.png"), true)
	}
	for i := range all {
		b.Click(fmt.Sprintf("figure:nth-of-type(%d) summary", i+1))
	}
	if n := browser.Eval[int](b, `[...document.querySelectorAll("details[open] table")].filter(e => e.offsetParent).length`); n != len(all) {
		t.Errorf("%d tables are open, want %d", n, len(all))
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 320 {
		t.Errorf("the page is %d wide on a screen of 320", w)
	}
	b.Accessible()
	b.Quiet()
}
