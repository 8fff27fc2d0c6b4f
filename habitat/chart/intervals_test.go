package chart

import (
	"fmt"
	"html/template"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Ends and means of bars stand on the axis where their values are.
func TestRatesStandOnTheAxis(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1)
		interval := func(name string) Interval {
			low, high := p.Draw(t, name+" low"), p.Draw(t, name+" high")
			low, high = min(low, high), max(low, high)
			return Interval{low + (high-low)*p.Draw(t, name+" mean"), low, high}
		}
		rates := make([]Rate, rapid.IntRange(1, 14).Draw(t, "hosts"))
		for i := range rates {
			before := interval("before")
			rates[i] = Rate{Host: fmt.Sprintf("host %d", i), Trees: float64(10 * i), Finds: float64(i), Interval: interval("now"), Before: &before}
		}
		d := parsed(t, Rates(rates))
		x := axis(t, d, 6+46*float64(len(rates))+16, plainNumber(t))
		checkBars(t, d, len(rates), x, func(i int) (Interval, Interval) { return rates[i].Interval, *rates[i].Before })
	})
}

// checkBars holds bars against an axis known from labels that stand on tenths,
// so beyond them it is known to a quarter of a unit: a thousandth of its length.
func checkBars(t reporter, d drawn, rows int, x func(float64) float64, of func(i int) (now, before Interval)) {
	t.Helper()
	bars := map[string]int{}
	for _, p := range d.Paths {
		if p.Class != "now" && p.Class != "before" {
			continue
		}
		now, before := of(bars[p.Class])
		want := now
		if p.Class == "before" {
			want = before
		}
		if (p.Dashes != "") != (p.Class == "before") {
			t.Errorf("%s is drawn with dashes %q", p.Class, p.Dashes)
		}
		from, _, to := level(t, p.D)
		if !near(from, x(want.Low), 0.25) || !near(to, x(want.High), 0.25) {
			t.Errorf("%s of row %d from %g to %g, want %g to %g", p.Class, bars[p.Class], from, to, x(want.Low), x(want.High))
		}
		bars[p.Class]++
	}
	marks := map[string]int{}
	for _, c := range d.Circles {
		now, before := of(marks[c.Class])
		want := now
		if c.Class == "before" {
			want = before
		}
		if !near(c.X, x(want.Mean), 0.25) {
			t.Errorf("%s of row %d at %g, want %g", c.Class, marks[c.Class], c.X, x(want.Mean))
		}
		marks[c.Class]++
	}
	for _, class := range []string{"now", "before"} {
		if bars[class] != rows || marks[class] != rows {
			t.Errorf("%s: %d bars, %d marks, want %d", class, bars[class], marks[class], rows)
		}
	}
}

// Weights lie on both sides of a line at 0.
func TestWeightsStandOnTheAxis(t *testing.T) {
	ws := []Weight{
		{"height", "height above the stream", Interval{-1, -1.5, -0.5}, Interval{-2, -2.2, -1.8}},
		{"slope", "slope", Interval{0.5, 0, 1}, Interval{1, 0.5, 2}},
	}
	d := parsed(t, Weights(ws))
	x := axis(t, d, 6+46*2+16, plainNumber(t))
	checkBars(t, d, 2, x, func(i int) (Interval, Interval) { return ws[i].After, ws[i].Before })
	lines := 0
	for _, p := range d.Paths {
		if strings.HasPrefix(p.D, "M"+at(x(0))+" ") && p.Stroke == ink {
			lines++
		}
	}
	if lines != len(ws) {
		t.Errorf("%d lines at 0, want one a row", lines)
	}
	for i, want := range []string{"height above the stream", "slope"} {
		y := 6 + 46*float64(i) + 14
		found := false
		for _, s := range d.Texts {
			found = found || s.Words == want && near(s.Y, y, 2)
		}
		if !found {
			t.Errorf("%q does not stand beside its bars", want)
		}
	}
}

func TestFiguresOfLittle(t *testing.T) {
	nan := math.NaN()
	none := Interval{nan, nan, nan}
	for name, svg := range map[string]template.HTML{
		"no hosts":        Rates(nil),
		"one":             Rates([]Rate{{Host: "elm", Interval: Interval{0.1, 0.05, 0.2}}}),
		"all zero":        Rates([]Rate{{Host: "elm"}}),
		"nothing known":   Rates([]Rate{{Host: "elm", Interval: none, Before: &none, Trees: nan, Finds: nan}}),
		"mean only":       Rates([]Rate{{Host: "elm", Interval: Interval{0.2, nan, nan}}}),
		"without end":     Rates([]Rate{{Host: "elm", Interval: Interval{0.2, math.Inf(-1), math.Inf(1)}}}),
		"far too many":    Rates(make([]Rate, 60)),
		"no weights":      Weights(nil),
		"tiny":            Rates([]Rate{{Host: "elm", Interval: Interval{3e-9, 1e-9, 5e-9}}}),
		"tiny weights":    Weights([]Weight{{"a", "b", Interval{}, Interval{3e-9, 1e-9, 5e-9}}}),
		"weights unknown": Weights([]Weight{{"a", "b", none, none}}),
		"weight zero":     Weights([]Weight{{"a", "b", Interval{}, Interval{}}}),
		"large numbers":   Rates([]Rate{{Host: "elm", Trees: 123456, Finds: 98765, Interval: Interval{0.8, 0.7999, 0.8001}}}),
		"long names":      Rates([]Rate{{Host: strings.Repeat("Mnemonic ", 40), Interval: Interval{0.1, 0, 0.2}}}),
		"wide letters":    Weights([]Weight{{"w", strings.Repeat("小川", 40), Interval{1, 0, 2}, Interval{1, 0, 2}}}),
	} {
		t.Run(name, func(t *testing.T) { parsed(t, svg) })
	}
}

// Where the mean is not known there is no mark, and words say so.
func TestUnknownRateIsSaid(t *testing.T) {
	nan := math.NaN()
	d := parsed(t, Rates([]Rate{{Host: "elm", Interval: Interval{nan, nan, nan}}, {Host: "ash", Interval: Interval{0.1, 0, 0.2}, Trees: 40, Finds: 4}}))
	if len(d.Circles) != 1 {
		t.Errorf("%d marks", len(d.Circles))
	}
	var words []string
	for _, s := range d.Texts {
		words = append(words, s.Words)
	}
	for _, want := range []string{"not known", "10 %", "4 of 40 trees"} {
		if !strings.Contains(strings.Join(words, "|"), want) {
			t.Errorf("%q lacks %q", words, want)
		}
	}
	if !strings.Contains(d.Desc, "ash 10 % (0 % to 20 %)") {
		t.Errorf("desc %q", d.Desc)
	}
}

// Names from files are text and nothing else; the same values draw the same bytes.
func TestHostileNames(t *testing.T) {
	for _, name := range []string{`<script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `</title></svg><b>`, "&lt;", "'a'", "a\x00b\x1b[31m\ufffe", "\xff"} {
		draw := func() []template.HTML {
			return []template.HTML{
				Rates([]Rate{{Host: name, Interval: Interval{0.1, 0, 0.2}, Trees: 3}}),
				Weights([]Weight{{name, name, Interval{1, 0, 2}, Interval{1, 0, 2}}}),
				Rates([]Rate{{Host: name, Interval: Interval{0.1, 0, 0.2}, Before: &Interval{0.1, 0, 0.2}}}),
			}
		}
		once, again := draw(), draw()
		for i, svg := range once {
			d := parsed(t, svg)
			if svg != again[i] {
				t.Error("other bytes the second time")
			}
			found := false
			for _, s := range d.Texts {
				found = found || s.Words != "" && strings.HasPrefix(strings.Map(drawable, strings.ToValidUTF8(name, "\ufffd")), strings.TrimSuffix(s.Words, "…"))
			}
			if !found {
				t.Errorf("%q is not written: %s", name, svg)
			}
		}
	}
}

func TestHistogramSameBytes(t *testing.T) {
	b := bins(1, 2.5, 3)
	once, again := Histogram(b, 0.6), Histogram(b, 0.6)
	if once != again {
		t.Error("other bytes the second time")
	}
}
