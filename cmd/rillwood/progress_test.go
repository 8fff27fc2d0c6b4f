package main

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"rillwood/internal/terminal"
)

// fakeBar is a bar on a terminal of so many columns (0 = no terminal) with a
// clock that is moved by hand.
type fakeBar struct {
	*bar
	out  strings.Builder
	time time.Time
}

func newFakeBar(columns int, windows []window) *fakeBar {
	f := &fakeBar{time: time.Unix(1e9, 0)}
	f.bar = &bar{w: &f.out, rewrite: columns > 0, columns: func() int { return columns }, now: func() time.Time { return f.time }, windows: windows}
	return f
}

func (f *fakeBar) wait(d time.Duration) { f.time = f.time.Add(d) }

// two stages of ten seconds each, heard of twice a second.
func (f *fakeBar) run() {
	for _, stage := range []string{"reading elevation", "measuring heights"} {
		for i := range 21 {
			f.report(stage, float64(i)/20)
			if i < 20 {
				f.wait(500 * time.Millisecond)
			}
		}
	}
}

var twoStages = []window{{"reading elevation", 50}, {"measuring heights", 50}}

func TestProgressOnATerminal(t *testing.T) {
	f := newFakeBar(81, twoStages)
	f.run()
	f.end(nil)
	text := f.out.String()
	if !strings.HasSuffix(text, "\r\x1b[Kdone in 20.0 s\n") || strings.Count(text, "\n") != 1 {
		t.Errorf("it does not end in one line: %q", text[max(0, len(text)-60):])
	}
	frames := strings.Split(strings.TrimPrefix(text, "\r\x1b[K"), "\r\x1b[K")
	if len(frames) < 30 {
		t.Fatalf("only %d frames", len(frames))
	}
	for _, c := range []struct {
		frame int
		want  string
	}{
		{0, "reading elevation             ░░░░░░░░░░░░░░░░░░░░░░░░    0 %"},
		{10, "reading elevation             ██████░░░░░░░░░░░░░░░░░░   25 %  about 15 s left"},
		{30, "measuring heights             ██████████████████░░░░░░   75 %  about 5 s left"},
	} {
		if got := frames[c.frame]; got != c.want {
			t.Errorf("frame %d:\n%s\nwant\n%s", c.frame, got, c.want)
		}
	}
}

func TestProgressOfAFailure(t *testing.T) {
	f := newFakeBar(80, twoStages)
	f.report("reading elevation", 0.5)
	f.end(errors.New("no"))
	if text := f.out.String(); !strings.HasSuffix(text, "%\r\x1b[K") {
		t.Errorf("the line is not cleared for the error: %q", text)
	}
	f = newFakeBar(0, twoStages)
	f.report("reading elevation", 0.5)
	f.end(errors.New("no"))
	if text := f.out.String(); text != "" {
		t.Errorf("a stage that failed is told as done: %q", text)
	}
}

func TestProgressElsewhere(t *testing.T) {
	f := newFakeBar(0, twoStages)
	f.run()
	f.end(nil)
	const want = "reading elevation              10.00 s\nmeasuring heights              10.00 s\n"
	if got := f.out.String(); got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
	nothing, end := progress(&console{}, true, twoStages, 0)
	if end(nil); nothing != nil {
		t.Error("progress where none is wanted")
	}
}

// A silent stage goes on by the clock.
func TestProgressOfASilentStage(t *testing.T) {
	f := newFakeBar(80, twoStages)
	f.report("reading elevation", 0)
	f.wait(10 * time.Second)
	f.report("reading elevation", 1)
	f.report("measuring heights", 0)
	f.wait(5 * time.Second)
	f.out.Reset()
	f.draw(f.time) // as the clock does
	if text := f.out.String(); !regexp.MustCompile(`measuring heights .* 70 %  about (6|7|8) s left$`).MatchString(text) {
		t.Errorf("after half of a silent stage: %q", text)
	}
	f.end(nil)
}

// The first stage, silent, is drawn by a guess; no time is told from that.
func TestProgressByAGuess(t *testing.T) {
	f := newFakeBar(80, twoStages)
	f.guess = 0.2 // ten seconds a stage
	f.report("reading elevation", 0)
	f.wait(10 * time.Second)
	f.out.Reset()
	f.draw(f.time)
	if text := f.out.String(); !strings.HasSuffix(text, " 32 %") { // 1 - 1/e of half the run
		t.Errorf("after as long as was guessed: %q", text)
	}
}

// The line fits, whatever the width, and says how much is done as long as
// there is room for that.
func TestProgressLineFits(t *testing.T) {
	for _, c := range []struct {
		columns int
		want    string
	}{
		{39, "reading ground …  42 %  about 20 s left"},
		{79, "reading ground to keep out of ██████████░░░░░░░░░░░░░   42 %  about 20 s left"},
		{24, " 42 %  about 20 s left"},
		{12, "42 %"},
		{3, "42…"},
		{0, ""},
	} {
		got := progressLine("reading ground to keep out of", 0.42, "about 20 s left", c.columns, false)
		if got != c.want {
			t.Errorf("in %d columns %q, want %q", c.columns, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(-1, 200).Draw(t, "columns")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		left := aboutLeft(time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "left")))
		stage := rapid.SampledFrom(append(countyWindows, mapWindows(nil)...)).Draw(t, "stage").stage
		line := progressLine(stage, share, left, columns, false)
		if n := terminal.Width(line); n > max(columns, 0) {
			t.Errorf("%d columns of %d: %q", n, columns, line)
		}
		if columns >= 6 && !strings.Contains(line, fmt.Sprintf("%.0f %%", 100*share)) {
			t.Errorf("in %d columns it is not said how far it is: %q", columns, line)
		}
		if columns >= 40 && (!strings.Contains(line, left) || !strings.HasPrefix(line, stage[:8])) {
			t.Errorf("in %d columns stage or time is missing: %q", columns, line)
		}
	})
	for _, w := range append(countyWindows, mapWindows(nil)...) {
		if len(w.stage) > stageColumns {
			t.Errorf("%q is longer than the column of the stages", w.stage)
		}
	}
}
