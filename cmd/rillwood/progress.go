package main

import (
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"rillwood/habitat"
	"rillwood/internal/terminal"
)

// bar shows how far a run has come: one line that is rewritten on a terminal,
// a line for each stage elsewhere.
type bar struct {
	mu      sync.Mutex
	w       io.Writer
	rewrite bool       // the line is rewritten
	columns func() int // of the terminal
	colour  bool
	now     func() time.Time

	windows  []window
	guess    float64   // see forecast
	forecast *forecast // nil before the first stage
	stage    string
	began    time.Time
	drawn    time.Time
	stop     chan struct{} // ends the clock; nil when there is none
}

// how often the line is drawn anew while a stage tells nothing, and at most.
const (
	redrawSlow = 250 * time.Millisecond
	redrawFast = 100 * time.Millisecond
)

// progress gives the function a run of such stages reports to, nil when quiet,
// and what to call with its outcome at the end. guess is what a unit of work
// may take, in seconds, 0 when that is anyone's guess.
func progress(c *console, quiet bool, windows []window, guess float64) (habitat.Progress, func(error)) {
	if quiet {
		return nil, func(error) {}
	}
	b := &bar{w: c.err, rewrite: c.rewrite, columns: c.errColumns, colour: c.errScreen.Colour, now: time.Now, windows: windows, guess: guess}
	if b.rewrite {
		b.stop = make(chan struct{})
		go b.clock(b.stop)
	}
	return b.report, b.end
}

// clock keeps the time left going where a stage is silent.
func (b *bar) clock(stop <-chan struct{}) {
	tick := time.NewTicker(redrawSlow)
	defer tick.Stop()
	for {
		select {
		case <-stop:
			return
		case <-tick.C:
			b.mu.Lock()
			b.draw(b.now())
			b.mu.Unlock()
		}
	}
}

func (b *bar) report(stage string, done float64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := b.now()
	if b.forecast == nil {
		b.forecast = newForecast(b.windows, now)
		b.forecast.guess = b.guess
	}
	if stage != b.stage {
		b.finish(now)
		b.stage, b.began = stage, now
		b.forecast.stage(stage, now)
	}
	b.forecast.tell(done)
	b.draw(now)
}

// draw rewrites the line, at most ten times a second.
func (b *bar) draw(now time.Time) {
	if !b.rewrite || b.stage == "" || now.Sub(b.drawn) < redrawFast {
		return
	}
	b.drawn = now
	share, left, ok := b.forecast.look(now)
	words := ""
	if ok {
		words = aboutLeft(left)
	}
	// The last column stays free: some terminals begin a new line there.
	fmt.Fprintf(b.w, "\r\x1b[K%s", progressLine(b.stage, share, words, b.columns()-1, b.colour))
}

// finish tells how long a stage took, where there is a line for each.
func (b *bar) finish(now time.Time) {
	if b.stage != "" && !b.rewrite {
		fmt.Fprintf(b.w, "%-*s %6.2f s\n", stageColumns, b.stage, now.Sub(b.began).Seconds())
	}
}

// end closes the progress of a run, well or ill. On a terminal a run that went
// well leaves one line.
func (b *bar) end(err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.stop != nil {
		close(b.stop)
		b.stop = nil
	}
	now := b.now()
	if err == nil {
		b.finish(now)
	}
	if b.rewrite && b.stage != "" {
		fmt.Fprint(b.w, "\r\x1b[K")
		if err == nil {
			fmt.Fprintf(b.w, "done in %s\n", tookWords(now.Sub(b.forecast.start)))
		}
	}
	b.stage = ""
}

func tookWords(d time.Duration) string {
	if d < time.Minute {
		return fmt.Sprintf("%.1f s", d.Seconds())
	}
	return d.Round(time.Second).String()
}

// stageColumns is the width of the longest stage's name.
const stageColumns = 29

// progressLine is the line of a run in at most so many columns: the stage, a
// bar, how much of the run is done, how long it will take. What does not fit
// goes: the bar first, then the end of the stage's name, then the stage, then
// the time.
func progressLine(stage string, share float64, left string, columns int, colour bool) string {
	on := terminal.Screen{Colour: colour}
	percent := fmt.Sprintf("%3.0f %%", 100*share)
	tail := percent
	if left != "" {
		tail += "  " + left
	}
	const room = len("  about 10 min left") // kept for the time, so that the bar stands still
	if cells := min(30, columns-stageColumns-len("  100 %")-max(room, terminal.Width(left)+2)-1); cells >= 8 {
		full := int(share*float64(cells) + 0.5)
		return terminal.Left(stage, stageColumns) + " " + on.Paint(terminal.Cyan, strings.Repeat("█", full)) + strings.Repeat("░", cells-full) + "  " + tail
	}
	if rest := columns - terminal.Width(tail) - 1; rest >= 8 {
		return terminal.Left(stage, min(rest, stageColumns)) + " " + tail
	}
	if terminal.Width(tail) <= columns {
		return tail
	}
	return terminal.Clip(strings.TrimSpace(percent), max(0, columns))
}
