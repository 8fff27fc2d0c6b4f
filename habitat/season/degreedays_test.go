package season

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Formula of Baskerville and Emin 1969 (Ecology 50(3):514–517; from memory),
// values agreed with numerical integration of the sine.
func TestDegreeDays(t *testing.T) {
	for _, c := range []struct{ tmin, tmax, base, sine, average, chill float64 }{
		{5, 25, 10, 6.089978, 5, 1.089978},
		{12, 28, 10, 10, 10, 0},
		{-3, 7, 0, 2.720659, 2, 0.720659},
		{-5, 9, 4, 1.319749, 0, 3.319749},
		{-8, -1, 0, 0, 0, 4.5},
		{-10, 10, 0, 10 / math.Pi, 0, 10 / math.Pi},
		{3, 3, 0, 3, 3, 0}, // a day without a wave
	} {
		if got := SingleSine.Daily(c.tmin, c.tmax, c.base, nil); math.Abs(got-c.sine) > 1e-6 {
			t.Errorf("sine %g to %g above %g: %.6f, want %.6f", c.tmin, c.tmax, c.base, got, c.sine)
		}
		if got := Average.Daily(c.tmin, c.tmax, c.base, nil); math.Abs(got-c.average) > 1e-6 {
			t.Errorf("average %g to %g above %g: %.6f, want %.6f", c.tmin, c.tmax, c.base, got, c.average)
		}
		if got := Chill(c.tmin, c.tmax, c.base); math.Abs(got-c.chill) > 1e-6 {
			t.Errorf("chill %g to %g below %g: %.6f, want %.6f", c.tmin, c.tmax, c.base, got, c.chill)
		}
	}
	// With a cutoff: 12 to 28 above 10 less what lies above 20.
	cut := 20.0
	if got, want := SingleSine.Daily(12, 28, 10, &cut), 10-8/math.Pi; math.Abs(got-want) > 1e-9 {
		t.Errorf("cut off at 20: %g, want %g", got, want)
	}
	if !math.IsNaN(SingleSine.Daily(math.NaN(), 3, 0, nil)) || !math.IsNaN(Average.Daily(1, math.NaN(), 0, nil)) {
		t.Error("a day without a temperature has degree-days")
	}
}

// The sine's area by adding up narrow slices of the day.
func TestSineAgainstIntegration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tmin := rapid.Float64Range(-40, 35).Draw(t, "tmin")
		tmax := tmin + rapid.Float64Range(0.1, 30).Draw(t, "range")
		base := rapid.Float64Range(-20, 30).Draw(t, "base")
		cut := base + rapid.Float64Range(0.1, 30).Draw(t, "cutoff")
		const slices = 20_000
		sum := 0.0
		for i := range slices {
			v := (tmin+tmax)/2 + (tmax-tmin)/2*math.Sin(2*math.Pi*(float64(i)+0.5)/slices)
			sum += math.Min(math.Max(0, v-base), cut-base)
		}
		if got, want := SingleSine.Daily(tmin, tmax, base, &cut), sum/slices; math.Abs(got-want) > 1e-4 {
			t.Fatalf("%g to %g above %g up to %g: %g, by slices %g", tmin, tmax, base, cut, got, want)
		}
	})
}

// Eight days in tenths of °C, counted by hand.
func TestFreezeThaw(t *testing.T) {
	var f FreezeThaw
	for _, d := range [][2]float64{{-32, 45}, {-11, 22}, {6, 89}, {-67, -5}, {-28, 0}, {0, 31}, {-1, 1}, {-120, 15}} {
		f.Add(d[0]/10, d[1]/10)
	}
	f.Add(math.NaN(), 5)
	f.Add(-5, math.NaN())
	if want := (FreezeThaw{Strict: 4, Firm: 3, Hard: 3}); f != want {
		t.Errorf("got %+v, want %+v", f, want)
	}
	var of FreezeThaw
	of.Add((28.0-32)*5/9, 0) // 28 °F is a hard freeze in whatever unit it was written
	of.Add(-22/10.0, 0)
	of.Add(-1, 1) // the bounds themselves count
	if of != (FreezeThaw{Strict: 1, Firm: 1, Hard: 2}) {
		t.Errorf("at the bounds: %+v", of)
	}
}
