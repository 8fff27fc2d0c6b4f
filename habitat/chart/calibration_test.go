package chart

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Points and bars stand where both axes say, whatever the map said and was seen.
func TestCalibrationStandsOnItsAxes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1)
		bs := make([]Bin, rapid.IntRange(1, 12).Draw(t, "bins"))
		for i := range bs {
			low, high := p.Draw(t, "low"), p.Draw(t, "high")
			low, high = min(low, high), max(low, high)
			of := float64(rapid.IntRange(1, 5000).Draw(t, "of"))
			bs[i] = Bin{Said: p.Draw(t, "said"), Seen: low + (high-low)*p.Draw(t, "seen"), Low: low, High: high, Found: math.Floor(of / 3), Of: of}
		}
		d := parsed(t, Calibration("hosts", bs, 0.95))
		side := width - 68 - 24.0
		x := axis(t, d, 12+side+18, plainNumber(t))
		y := upAxis(t, d, plainNumber(t))
		if len(d.Circles) != len(bs) {
			t.Fatalf("%d points, want %d", len(d.Circles), len(bs))
		}
		n, most := 0, 0
		for _, q := range d.Paths {
			if q.Class != "now" {
				continue
			}
			at, low, high := upright(t, q.D)
			if b := bs[n]; !near(at, x(b.Said), 0.2) || !near(low, y(b.Low), 0.2) || !near(high, y(b.High), 0.2) {
				t.Errorf("bar %d at %g from %g to %g, want %g, %g to %g", n, at, low, high, x(b.Said), y(b.Low), y(b.High))
			}
			n++
		}
		for i, c := range d.Circles {
			if !near(c.X, x(bs[i].Said), 0.2) || !near(c.Y, y(bs[i].Seen), 0.2) {
				t.Errorf("point %d at %g, %g, want %g, %g", i, c.X, c.Y, x(bs[i].Said), y(bs[i].Seen))
			}
			if !strings.Contains(c.Title, "of "+number(bs[i].Of)) {
				t.Errorf("point %d says %q", i, c.Title)
			}
			if bs[i].Of > bs[most].Of {
				most = i
			}
		}
		for i, c := range d.Circles {
			if c.R > d.Circles[most].R {
				t.Errorf("point %d of %g looks is larger than that of %g", i, bs[i].Of, bs[most].Of)
			}
		}
		if n != len(bs) || len(d.Table) != len(bs)+1 {
			t.Errorf("%d bars and %d rows of %d bins", n, len(d.Table)-1, len(bs))
		}
	})
}

// A map that is right lies on the slanted line, which goes through equal
// figures of both axes.
func TestRightMapLiesOnTheLine(t *testing.T) {
	d := parsed(t, Calibration("hosts", []Bin{{0.1, 0.1, 0.05, 0.2, 2, 20}, {0.5, 0.5, 0.3, 0.7, 10, 20}, {0.6, 0.2, 0.1, 0.4, 4, 20}}, 0.9))
	var x0, y0, x1, y1 float64
	for _, p := range d.Paths {
		if p.Dashes != "" {
			x0, y0, x1, y1 = slanted(t, p.D)
		}
	}
	for i, on := range []bool{true, true, false} {
		c := d.Circles[i]
		if off := math.Abs((c.X-x0)/(x1-x0) - (c.Y-y0)/(y1-y0)); (off < 0.002) != on {
			t.Errorf("point %d lies %g off the line", i, off)
		}
	}
	for _, want := range []string{"60 looks in 3 points", "90 % of cases", "2 of 3 reach"} {
		if !strings.Contains(d.Desc, want) {
			t.Errorf("%q lacks %q", d.Desc, want)
		}
	}
}

func TestCalibrationOfLittle(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		bins   []Bin
		points int
	}{
		"none":       {nil, 0},
		"zero":       {[]Bin{{}}, 1},
		"certain":    {[]Bin{{1, 1, 1, 1, 5, 5}}, 1},
		"not known":  {[]Bin{{nan, nan, nan, nan, nan, nan}, {0.1, 0.2, 0, 0.4, 1, 5}}, 1},
		"no count":   {[]Bin{{0.1, 0.2, 0, 0.4, 1, nan}}, 0},
		"without":    {[]Bin{{0.1, 0.2, 0, math.Inf(1), 1, 3}}, 0},
		"tiny":       {[]Bin{{1e-6, 0, 0, 1e-5, 0, 1e6}}, 1},
		"many looks": {[]Bin{{0.001, 0.002, 0.001, 0.003, 2e6, 1e9}, {0.1, 0.2, 0, 0.4, 1, 5}}, 2},
	} {
		t.Run(name, func(t *testing.T) {
			d := parsed(t, Calibration("hosts", c.bins, 0.95))
			if len(d.Circles) != c.points {
				t.Errorf("%d points, want %d", len(d.Circles), c.points)
			}
			if len(c.bins) > 0 && len(d.Table) != len(c.bins)+1 {
				t.Errorf("%d rows of the table, want %d", len(d.Table)-1, len(c.bins))
			}
		})
	}
}

func upright(t reporter, d string) (x, y0, y1 float64) {
	t.Helper()
	scan(t, d, "M%f %fV%f", &x, &y0, &y1)
	return x, y0, y1
}

func slanted(t reporter, d string) (x0, y0, x1, y1 float64) {
	t.Helper()
	scan(t, d, "M%f %fL%f %f", &x0, &y0, &x1, &y1)
	return x0, y0, x1, y1
}

// upAxis is axis for the labels at the left, which stand beside what they name.
func upAxis(t reporter, d drawn, value func(string) float64) func(v float64) float64 {
	t.Helper()
	var ys, vs []float64
	for _, s := range d.Texts {
		if s.Anchor == "end" {
			ys, vs = append(ys, s.Y-4), append(vs, value(s.Words))
		}
	}
	if len(ys) < 2 {
		t.Fatalf("%d labels at the left", len(ys))
	}
	n := len(ys) - 1
	return func(v float64) float64 { return ys[0] + (v-vs[0])/(vs[n]-vs[0])*(ys[n]-ys[0]) }
}
