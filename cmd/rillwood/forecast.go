package main

import (
	"fmt"
	"math"
	"time"
)

// forecast foretells how long a run will still take, from the work of its
// stages (windows) and the pace of this run so far.
type forecast struct {
	windows []window // stages still to come
	guess   float64  // seconds a unit of work may take, before anything is known; 0 = no guess
	pace    float64  // seconds a unit of work took in the stages that are over, 0 = none is
	work    float64  // units in those stages

	start   time.Time // of the run
	current window
	began   time.Time // the current stage
	done    float64   // share of it as it was told

	share float64   // of the whole run, never falling
	ends  time.Time // when it will be over, as told last; zero = not told yet
	at    time.Time // when that was foretold
}

func newForecast(windows []window, now time.Time) *forecast {
	return &forecast{windows: windows, start: now, began: now}
}

// stage begins a stage and ends the one before. Stages that are skipped cost
// nothing; one that is in no table is taken to be short.
func (f *forecast) stage(name string, now time.Time) {
	if f.current.stage != "" {
		f.work += f.current.work
		if spent := now.Sub(f.start).Seconds(); f.work > 0 {
			f.pace = spent / f.work
		}
	}
	f.current, f.began, f.done = window{name, unforeseen}, now, 0
	for i, w := range f.windows {
		if w.stage == name {
			f.current, f.windows = w, f.windows[i+1:]
			return
		}
	}
}

// tell hears how far the stage is; it does not go back.
func (f *forecast) tell(done float64) {
	if done > f.done && done <= 1 {
		f.done = done
	}
}

// Before so much time and so large a share of the work, the pace says little.
const (
	leastSpent = 2.0 // seconds
	leastShare = 0.03
)

// look gives the share of the run that is done, never less than before and
// below 1, and the time it will still take; ok is false while that cannot be
// told yet.
func (f *forecast) look(now time.Time) (share float64, left time.Duration, ok bool) {
	within, pace := f.done, f.pace
	if pace == 0 {
		pace = f.guess
	}
	if within == 0 && pace > 0 {
		// A stage that tells nothing goes on all the same: at the pace of the
		// others, and ever slower as that takes it near its end.
		expected := pace * f.current.work
		within = 1 - math.Exp(-now.Sub(f.began).Seconds()/expected)
	}
	worked := f.work + f.current.work*within
	ahead := f.current.work * (1 - within)
	for _, w := range f.windows {
		ahead += w.work
	}
	if all := worked + ahead; all > 0 {
		f.share = max(f.share, min(worked/all, 0.995))
	}
	spent := now.Sub(f.start).Seconds()
	if guessed := f.pace == 0 && f.done == 0; guessed || spent < leastSpent || worked < leastShare*(worked+ahead) {
		return f.share, 0, false
	}
	ends := now.Add(time.Duration(spent / worked * ahead * float64(time.Second)))
	if f.ends.IsZero() {
		f.ends = ends
	} else {
		// Drawn towards the new reckoning in some two seconds, lest it jump.
		k := 1 - math.Exp(-now.Sub(f.at).Seconds()/2)
		f.ends = f.ends.Add(time.Duration(k * float64(ends.Sub(f.ends))))
	}
	f.at = now
	return f.share, max(0, f.ends.Sub(now)), true
}

// aboutLeft says a time in words no surer than it is known.
func aboutLeft(d time.Duration) string {
	switch s := d.Seconds(); {
	case s < 1.5:
		return "nearly done"
	case s < 10:
		return fmt.Sprintf("about %.0f s left", s)
	case s < 57.5:
		return fmt.Sprintf("about %.0f s left", 5*math.Round(s/5))
	case s < 3570:
		return fmt.Sprintf("about %.0f min left", math.Max(1, math.Round(s/60)))
	default:
		m := 10 * int(math.Round(s/600))
		if m%60 == 0 {
			return fmt.Sprintf("about %d h left", m/60)
		}
		return fmt.Sprintf("about %d h %d min left", m/60, m%60)
	}
}
