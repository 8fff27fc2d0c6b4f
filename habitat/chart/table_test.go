package chart

import (
	"encoding/xml"
	"html/template"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The tables hold what the figures draw, names in full.
func TestTables(t *testing.T) {
	long := strings.Repeat("Mnemonic ", 12)
	nan := math.NaN()
	for name, c := range map[string]struct {
		svg  template.HTML
		want [][]string
	}{
		"histogram": {Histogram(bins(12, nan, 3000), 0.5), [][]string{{"Suitability", "Hectares"}, {"0 to 0.33", "12"}, {"0.33 to 0.67", "not known"}, {"0.67 to 1", "3,000"}}},
		"rates":     {Rates([]Rate{{Host: long, Trees: 40, Finds: 4, Interval: Interval{0.1, 0.05, 0.2}}}), [][]string{{"Tree", "Now", "From", "To"}, {long + " (4 of 40 trees)", "10 %", "5 %", "20 %"}}},
		"rates since": {Rates([]Rate{{Host: "elm", Interval: Interval{0.1, 0.05, 0.2}, Before: &Interval{0.08, 0.01, 0.3}}, {Host: "ash", Interval: Interval{nan, nan, nan}}}),
			[][]string{{"Tree", "Now", "From", "To", "Before", "From", "To"}, {"elm", "10 %", "5 %", "20 %", "8 %", "1 %", "30 %"}, {"ash", "not known", "not known", "not known", "not told", "", ""}}},
		"weights":     {Weights([]Weight{{"slope", "slope <%>", Interval{-1, -2, 0}, Interval{0.5, 0.25, 0.75}}}), [][]string{{"Weight", "Now", "From", "To", "Before", "From", "To"}, {"slope <%>", "0.5", "0.25", "0.75", "-1", "-2", "0"}}},
		"calibration": {Calibration("hosts", []Bin{{0.1, 0.2, 0.05, 0.5, 4, 20}}, 0.95), [][]string{{"Said", "Seen", "From", "To", "Came true", "Looks"}, {"10 %", "20 %", "5 %", "50 %", "4", "20"}}},
		"none":        {Rates(nil), nil},
	} {
		t.Run(name, func(t *testing.T) {
			if diff := cmp.Diff(c.want, parsed(t, c.svg).Table); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// A figure of its own needs no page: no variables, no table, a ground of white,
// and the same marks. Text that looks like a variable stays as it is.
func TestAlone(t *testing.T) {
	figure := Calibration(`"var(--mark,#1d5f8a)" </svg> & co`, []Bin{{0.1, 0.2, 0.05, 0.5, 4, 20}}, 0.95)
	svg := Alone(figure)
	var d struct {
		XMLName xml.Name
		Width   float64 `xml:"width,attr"`
		Height  float64 `xml:"height,attr"`
		ViewBox string  `xml:"viewBox,attr"`
		Title   string  `xml:"title"`
		Circles []struct {
			Fill string `xml:"fill,attr"`
		} `xml:"circle"`
	}
	if err := xml.Unmarshal(svg, &d); err != nil {
		t.Fatalf("%v\n%s", err, svg)
	}
	if d.Title != `"var(--mark,#1d5f8a)" </svg> & co` {
		t.Errorf("title %q", d.Title)
	}
	if d.XMLName.Space != "http://www.w3.org/2000/svg" || d.Width != 540 || !near(d.Height, 1.5*(12+268+46), 0.01) || d.ViewBox != "0 0 360 326" {
		t.Errorf("%v of %g × %g in %q", d.XMLName, d.Width, d.Height, d.ViewBox)
	}
	if len(d.Circles) != 1 || d.Circles[0].Fill != "#1d5f8a" {
		t.Errorf("points %+v", d.Circles)
	}
	if left := regexp.MustCompile(`="var`).FindAll(svg, -1); len(left) > 0 {
		t.Errorf("%d variables are left", len(left))
	}
}

// Words keep 4.5 : 1 to white paper, marks 3 : 1 (WCAG 2.2, 1.4.3 and 1.4.11).
func TestContrast(t *testing.T) {
	for name, c := range map[string]struct {
		colour string
		least  float64
	}{"words": {ink, 4.5}, "small words": {faint, 4.5}, "now": {now, 3}, "before": {was, 3}} {
		if got := contrast(t, c.colour); got < c.least {
			t.Errorf("%s: %s is %.2f : 1, want %g", name, c.colour, got, c.least)
		}
	}
	if got := contrast(t, "var(--white,#767676)"); !near(got, 4.54, 0.01) { // the example of the guidelines' own pages; from memory
		t.Errorf("#767676 on white is %.3f : 1, want 4.54", got)
	}
}

// contrast is the ratio to white of a colour's fallback, by WCAG 2.2,
// "relative luminance" and "contrast ratio".
func contrast(t *testing.T, variable string) float64 {
	t.Helper()
	_, hex, _ := strings.Cut(strings.TrimSuffix(variable, ")"), "#")
	rgb, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	l := 0.0
	for i, share := range []float64{0.2126, 0.7152, 0.0722} {
		v := float64(rgb>>(16-8*i)&255) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		l += share * v
	}
	return 1.05 / (l + 0.05)
}
