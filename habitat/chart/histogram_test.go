package chart

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rillwood/habitat/results"
)

func bins(ha ...float64) []results.Bin {
	out := make([]results.Bin, len(ha))
	n := float64(len(ha))
	for i, v := range ha {
		out[i] = results.Bin{From: float64(i) / n, To: float64(i+1) / n, Ha: v}
	}
	return out
}

// Heights go by the square root of hectares, places by suitability.
func TestHistogramBars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ha := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 1e8), func(i int) float64 { return float64(i) / 100 }), 1, 40).Draw(t, "ha")
		threshold := float64(rapid.IntRange(0, len(ha)).Draw(t, "at")) / float64(len(ha))
		d := parsed(t, Histogram(bins(ha...), threshold))
		if len(d.Rects) != len(ha) {
			t.Fatalf("%d bars, want %d", len(d.Rects), len(ha))
		}
		foot := d.Rects[0].Y + d.Rects[0].Height
		most := 0
		for i := range ha {
			if ha[i] > ha[most] {
				most = i
			}
		}
		scale := d.Rects[most].Height / math.Sqrt(ha[most])
		for i, b := range d.Rects {
			if ha[most] > 0 && !near(b.Height, scale*math.Sqrt(ha[i]), 0.2) {
				t.Errorf("bar of %g ha is %g high, want %g", ha[i], b.Height, scale*math.Sqrt(ha[i]))
			}
			if !near(b.Y+b.Height, foot, 0.11) {
				t.Errorf("bar %d stands at %g, others at %g", i, b.Y+b.Height, foot)
			}
			if filled := b.Fill != "none"; filled != (float64(i)/float64(len(ha)) >= threshold-1e-9) {
				t.Errorf("bar from %g is filled: %v; threshold %g", float64(i)/float64(len(ha)), filled, threshold)
			}
		}
		if top := d.Rects[most].Height; ha[most] > 0 && top < 60 {
			t.Errorf("the highest bar is only %g high", top)
		}
	})
}

// The axis tells the truth: bars begin and end where their labels stand, and
// the lines across are at the heights of their hectares.
func TestHistogramAxes(t *testing.T) {
	d := parsed(t, Histogram(bins(100, 25, 0, 4, 400), 0.6))
	x := axis(t, d, 44+190+18, plainNumber(t))
	for i, b := range d.Rects {
		if !near(b.X, x(float64(i)/5)+1, 0.1) || !near(b.X+b.Width, x(float64(i+1)/5)-1, 0.1) {
			t.Errorf("bar %d from %g to %g, want %g to %g", i, b.X, b.X+b.Width, x(float64(i)/5)+1, x(float64(i+1)/5)-1)
		}
	}
	for _, s := range d.Texts {
		if s.Anchor == "end" && !strings.Contains(s.Words, "threshold") { // beside the lines across
			v := plainNumber(t)(s.Words)
			top := d.Rects[4].Y + d.Rects[4].Height - d.Rects[4].Height*math.Sqrt(v/400)
			if !near(s.Y-4, top, 0.2) {
				t.Errorf("%s ha at height %g, want %g", s.Words, s.Y-4, top)
			}
		}
	}
	for _, want := range []string{"Of 529 hectares", "404 lie at or above the threshold of 0.6"} {
		if !strings.Contains(d.Desc, want) {
			t.Errorf("%q lacks %q", d.Desc, want)
		}
	}
	found := false
	for _, p := range d.Paths {
		found = found || p.Dashes != "" && strings.HasPrefix(p.D, "M"+at(x(0.6))+" ")
	}
	if !found {
		t.Errorf("no dashed line at the threshold: %+v", d.Paths)
	}
}

func TestHistogramOfLittle(t *testing.T) {
	for name, b := range map[string][]results.Bin{
		"no bins": nil, "nothing mapped": bins(0, 0, 0), "one": bins(0.01), "not known": bins(1, math.NaN(), 3), "without end": bins(1, math.Inf(1)),
		"a country": bins(1e7, 3e7), "less than none": bins(-1, 2),
	} {
		t.Run(name, func(t *testing.T) {
			for _, threshold := range []float64{0, 0.62, 1, math.NaN()} {
				d := parsed(t, Histogram(b, threshold))
				if len(d.Rects) != len(b) {
					t.Errorf("%d bars of %d", len(d.Rects), len(b))
				}
			}
		})
	}
}

func TestSteps(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		most := math.Pow(10, rapid.Float64Range(-6, 8).Draw(r, "log"))
		s := steps(most)
		if len(s) < 3 || len(s) > 7 || s[0] != 0 || s[len(s)-1] < most*(1-1e-8) || s[len(s)-2] >= most {
			t.Fatalf("%g: %v", most, s)
		}
		for i := 2; i < len(s); i++ {
			if !near(s[i]-s[i-1], s[1], 1e-9*most) {
				t.Fatalf("%g: %v", most, s)
			}
		}
	})
}

func TestNumberWords(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.081: "0.081", 0.5: "0.5", 3.24: "3.2", 9.96: "10", 35.4: "35", 999.6: "1,000", 1234567: "1,234,567", -1200: "-1,200", 0.00072: "0.00072", 0.00002: "about 0", math.NaN(): "not known", math.Inf(1): "not known"} {
		if got := number(v); got != want {
			t.Errorf("%v: %q, want %q", v, got, want)
		}
	}
}
