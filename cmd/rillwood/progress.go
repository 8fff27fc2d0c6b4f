package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"golang.org/x/term"

	"rillwood/habitat"
)

func isTerminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }

// bar shows how far a run has come: one line that is rewritten on a terminal,
// a line for each stage elsewhere.
type bar struct {
	mu    sync.Mutex
	w     io.Writer
	tty   bool
	stage string
	start time.Time
	drawn time.Time
}

// progress gives the function a run reports to; nil when quiet.
func progress(c *console, quiet bool) (habitat.Progress, func()) {
	if quiet {
		return nil, func() {}
	}
	b := &bar{w: c.err, tty: c.tty}
	return b.report, b.end
}

func (b *bar) report(stage string, done float64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	now := time.Now()
	if stage != b.stage {
		b.finish(now)
		b.stage, b.start, b.drawn = stage, now, time.Time{}
	}
	if !b.tty || now.Sub(b.drawn) < 100*time.Millisecond {
		return
	}
	b.drawn = now
	const width = 30
	full := int(done*width + 0.5)
	left := ""
	if spent := now.Sub(b.start); done > 0.05 && done < 1 && spent > time.Second {
		left = fmt.Sprintf("  %s left", time.Duration(float64(spent)*(1-done)/done).Round(time.Second))
	}
	fmt.Fprintf(b.w, "\r\x1b[K%-22s %s%s %3.0f %%%s", stage, strings.Repeat("█", full), strings.Repeat("░", width-full), 100*done, left)
}

// finish closes the stage being shown.
func (b *bar) finish(now time.Time) {
	if b.stage == "" {
		return
	}
	clear := ""
	if b.tty {
		clear = "\r\x1b[K"
	}
	fmt.Fprintf(b.w, "%s%-22s %6.2f s\n", clear, b.stage, now.Sub(b.start).Seconds())
}

func (b *bar) end() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.finish(time.Now())
	b.stage = ""
}
