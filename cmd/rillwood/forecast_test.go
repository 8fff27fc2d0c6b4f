package main

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rillwood/habitat"
)

// timed is a stage of a run as it was measured, in seconds.
type timed struct {
	stage string
	took  float64
}

// Runs measured on two processors. The smallest, where small files and not the
// number of cells tell, is the hardest to foretell.
var measuredRuns = []struct {
	name    string
	windows []window
	off     float64 // share of the run by which the forecast may be off, from three tenths of the run on
	stages  []timed
}{
	{"demo of 600x600", wholeDemo(), 0.35, []timed{{"inventing the county", 0.84}, {"writing elevation", 0.12}, {"writing land cover", 0.01}, {"writing geology", 0.03}, {"writing elm basal area", 0.01}, {"writing streams", 0.03}, {"writing places", 0.06}, {"writing soils", 0.03}, {"writing flood zones", 0.02}, {"writing trees", 0.72},
		{"reading elevation", 0.02}, {"reading land cover", 0.01}, {"reading streams", 0.07}, {"reading evidence", 0.18}, {"measuring valley flatness", 0.10}, {"reading host inventory", 0.23}, {"reading access", 0.05}, {"reading ground to keep out of", 0.09}, {"routing water", 0.02}, {"counting drainage", 0.03}, {"measuring heights", 0.10}, {"choosing patches", 0.13}, {"finding ways in", 0.14}, {"writing suitability", 0.10}, {"writing layers", 0.95}, {"writing relief", 0.05}, {"writing the report", 1.16}}},
	{"demo of 2000x2000", wholeDemo(), 0.12, []timed{{"inventing the county", 3.41}, {"writing elevation", 1.14}, {"writing land cover", 0.13}, {"writing geology", 0.18}, {"writing elm basal area", 0.07}, {"writing streams", 0.07}, {"writing places", 0.11}, {"writing soils", 0.23}, {"writing flood zones", 0.08}, {"writing trees", 0.63},
		{"reading elevation", 0.12}, {"reading land cover", 0.08}, {"reading streams", 0.09}, {"reading evidence", 0.40}, {"measuring valley flatness", 0.76}, {"reading host inventory", 0.91}, {"reading access", 0.07}, {"reading ground to keep out of", 0.20}, {"routing water", 0.21}, {"counting drainage", 0.08}, {"measuring heights", 0.75}, {"choosing patches", 0.61}, {"finding ways in", 0.38}, {"writing suitability", 0.52}, {"writing layers", 5.53}, {"writing relief", 0.24}, {"writing the report", 4.33}}},
	{"map of 4000x3000", mapWindows(nil), 0.2, []timed{{"reading elevation", 0.22}, {"reading land cover", 0.08}, {"reading streams", 0.11}, {"reading evidence", 0.74}, {"measuring valley flatness", 1.81}, {"reading host inventory", 1.63}, {"reading access", 0.07}, {"reading ground to keep out of", 0.37}, {"routing water", 0.61}, {"counting drainage", 0.24}, {"measuring heights", 2.16}, {"choosing patches", 1.03}, {"finding ways in", 0.36}, {"writing suitability", 1.70}, {"writing layers", 14.81}, {"writing relief", 0.63}, {"writing the report", 3.77}}},
	{"elevation, streams and cover alone, 2000x2000", mapWindows(leanSurvey()), 0.25, []timed{{"reading elevation", 0.13}, {"reading land cover", 0.05}, {"reading streams", 0.05}, {"routing water", 0.22}, {"counting drainage", 0.10}, {"measuring heights", 0.55}, {"choosing patches", 0.38}, {"writing suitability", 0.16}, {"writing relief", 0.30}, {"writing the report", 4.21}}},
}

func wholeDemo() []window { return append(append([]window{}, countyWindows...), mapWindows(nil)...) }

func leanSurvey() *habitat.Survey {
	s := habitat.DefaultSurvey()
	s.Elevation.Path, s.Streams.Path, s.LandCover.Path = []string{"elevation.tif"}, []string{"streams.gpkg"}, []string{"landcover.tif"}
	s.Output.Layers, s.Output.Preview = []string{"none"}, false
	return s
}

// silentStages tell nothing between their begin and their end.
var silentStages = map[string]bool{"inventing the county": true, "reading streams": true, "writing suitability": true, "writing trees": true}

// replay runs a forecast by a fake clock that ticks four times a second and
// hears of each stage; what is foretold is given to see.
func replay(windows []window, run []timed, see func(spent, total, share float64, left time.Duration, ok bool)) {
	now := time.Unix(1e9, 0)
	start, total := now, 0.0
	for _, s := range run {
		total += s.took
	}
	f := newForecast(windows, now)
	for _, s := range run {
		f.stage(s.stage, now)
		for at := 0.0; at < s.took; {
			step := math.Min(0.25, s.took-at)
			at += step
			now = now.Add(time.Duration(step * float64(time.Second)))
			if !silentStages[s.stage] {
				f.tell(at / s.took)
			}
			share, left, ok := f.look(now)
			see(now.Sub(start).Seconds(), total, share, left, ok)
		}
	}
}

// What is foretold of measured runs is near the truth, on this machine and on
// one ten times slower.
func TestForecastOfMeasuredRuns(t *testing.T) {
	for _, r := range measuredRuns {
		name, run, windows := r.name, r.stages, r.windows
		for _, slower := range []float64{1, 10} {
			scaled := make([]timed, len(run))
			for i, s := range run {
				scaled[i] = timed{s.stage, slower * s.took}
			}
			told, worst, last := 0, 0.0, -1.0
			replay(windows, scaled, func(spent, total, share float64, left time.Duration, ok bool) {
				if share < last || share >= 1 {
					t.Errorf("%s: after %.1f s the share goes from %.3f to %.3f", name, spent, last, share)
				}
				last = share
				if left < 0 {
					t.Errorf("%s: after %.1f s, %v are left", name, spent, left)
				}
				if !ok {
					return
				}
				told++
				// Off by so much of the whole run.
				off := math.Abs(left.Seconds()-(total-spent)) / total
				if spent > 0.3*total {
					worst = math.Max(worst, off)
				}
			})
			if told == 0 && scaled[0].took > 3 {
				t.Errorf("%s, %g times slower: nothing was foretold", name, slower)
			}
			t.Logf("%s, %g times slower: from three tenths on off by at most %.0f %% of the run", name, slower, 100*worst)
			if worst > r.off {
				t.Errorf("%s, %g times slower: off by %.0f %% of the run", name, slower, 100*worst)
			}
			if last < 0.9 {
				t.Errorf("%s: at the end %.0f %% are done", name, 100*last)
			}
		}
	}
}

// Whatever stages come, in whatever order, known or not, silent or not: the
// share never falls, the time is never below nought and goes on falling while
// a stage is silent.
func TestForecastOfAnyRun(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var run []timed
		for range rapid.IntRange(1, 12).Draw(t, "stages") {
			name := rapid.SampledFrom([]string{"reading elevation", "writing layers", "a stage of no table", "measuring heights", "inventing the county"}).Draw(t, "stage")
			run = append(run, timed{name, rapid.Float64Range(0, 30).Draw(t, "took")})
		}
		last := -1.0
		replay(mapWindows(nil), run, func(spent, total, share float64, left time.Duration, ok bool) {
			if share < last || share < 0 || share >= 1 || math.IsNaN(share) {
				t.Fatalf("the share goes from %g to %g", last, share)
			}
			last = share
			if left < 0 || left > 1000*time.Hour {
				t.Fatalf("%v left after %g s", left, spent)
			}
		})
	})
}

// A long silent stage: the time left runs down with the clock and does not
// climb back by more than the run has already been found slow.
func TestForecastInASilentStage(t *testing.T) {
	now := time.Unix(1e9, 0)
	f := newForecast([]window{{"a", 100}, {"silent", 100}, {"c", 100}}, now)
	f.stage("a", now)
	for i := range 40 {
		now = now.Add(250 * time.Millisecond)
		f.tell(float64(i+1) / 40)
		f.look(now)
	}
	f.stage("silent", now)
	_, before, ok := f.look(now)
	if !ok || math.Abs(before.Seconds()-20) > 2 {
		t.Fatalf("after one of three equal stages of 10 s, %v are left (%v)", before, ok)
	}
	for range 40 {
		now = now.Add(250 * time.Millisecond)
		f.look(now)
	}
	if _, left, _ := f.look(now); left.Seconds() > 17 || left.Seconds() < 9 {
		t.Errorf("when the silent stage's 10 s are over, %v are left, want 10 to 17 s", left)
	}
}

func TestAboutLeft(t *testing.T) {
	for _, c := range []struct {
		seconds float64
		want    string
	}{
		{0, "nearly done"}, {1.4, "nearly done"}, {1.6, "about 2 s left"}, {9.4, "about 9 s left"}, {9.9, "about 10 s left"}, {12, "about 10 s left"}, {18, "about 20 s left"},
		{57, "about 55 s left"}, {58, "about 1 min left"}, {89, "about 1 min left"}, {91, "about 2 min left"}, {3500, "about 58 min left"},
		{3580, "about 1 h left"}, {4700, "about 1 h 20 min left"}, {7200, "about 2 h left"}, {360000, "about 100 h left"},
	} {
		if got := aboutLeft(time.Duration(c.seconds * float64(time.Second))); got != c.want {
			t.Errorf("%g s: %q, want %q", c.seconds, got, c.want)
		}
	}
}
