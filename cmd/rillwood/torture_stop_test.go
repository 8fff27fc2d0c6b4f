//go:build unix

package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

const (
	saidStopped = "rillwood: stopped; earlier results are as they were"
	saidDone    = "rillwood: stopped; but what was asked for was done by then, and is whole"
)

// stopped starts a program, sends it signals some milliseconds apart after a
// while, and tells how it ended and how long that took; sent is false when it
// had ended by itself.
func (b *bench) stopped(after time.Duration, signals []os.Signal, args ...string) (state *os.ProcessState, last string, took time.Duration, sent bool) {
	b.t.Helper()
	cmd, said := b.start(args...)
	gone := make(chan struct{})
	go func() { cmd.Wait(); close(gone) }()
	select {
	case <-gone:
		return cmd.ProcessState, lastLine(said.String()), 0, false
	case <-time.After(after):
	}
	began := time.Now()
	for i, s := range signals {
		if i > 0 {
			time.Sleep(3 * time.Millisecond)
		}
		if err := cmd.Process.Signal(s); err != nil && i == 0 {
			<-gone
			return cmd.ProcessState, lastLine(said.String()), 0, false
		}
	}
	<-gone
	return cmd.ProcessState, lastLine(said.String()), time.Since(began), true
}

func lastLine(text string) string {
	lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	return lines[len(lines)-1]
}

// stops: Ctrl-C and the request to terminate end a run within a second, with
// the exit code of the signal and a line that says what was kept; a second
// Ctrl-C kills it, which is as any kill.
func (b *bench) stops() {
	for _, c := range []struct {
		what    string
		signals []os.Signal
		code    int
		n       int
	}{
		{"Ctrl-C", []os.Signal{os.Interrupt}, 130, few(5, 40)},
		{"terminate", []os.Signal{syscall.SIGTERM}, 143, few(2, 20)},
		{"Ctrl-C twice", []os.Signal{os.Interrupt, os.Interrupt}, 130, few(2, 20)},
	} {
		var times []time.Duration
		own, died := 0, 0
		for i := range c.n {
			before := b.whole("before")
			survey := benchSurveys[0]
			if survey == before {
				survey = benchSurveys[1]
			}
			// Spread evenly over the stages; the program hears signals once it has begun.
			at := time.Duration((0.3 + 0.7*(float64(i)+b.rng.Float64())/float64(c.n)) * float64(b.last[survey]))
			when := fmt.Sprintf("%s after %s of %s", c.what, at, b.last[survey])
			state, line, took, sent := b.stopped(at, c.signals, "map", "--cache", "none", survey)
			got := b.whole(when)
			if !sent {
				continue
			}
			times = append(times, took)
			killed := state.Sys().(syscall.WaitStatus).Signaled()
			switch {
			case killed && len(c.signals) > 1:
				died++
				b.mapped(survey, "the run after "+when)
				continue
			case state.ExitCode() == c.code && line == saidStopped && got == before:
			case state.ExitCode() == c.code && line == saidDone && got == survey:
				own++
			case state.ExitCode() == 0 && got == survey: // it was at its end
			default:
				b.t.Errorf("%s: %v, %q, results of %q", when, state, line, got)
			}
			if took > time.Second {
				b.t.Errorf("%s: it took %s", when, took)
			}
			b.tidy(when)
		}
		if len(times) == 0 {
			b.t.Errorf("%s: no run was stopped", c.what)
			continue
		}
		slices.Sort(times)
		tabled(b.t, "`map`", c.what+" at any moment", len(times), fmt.Sprintf("its own results %d, killed by the second %d; median %s, longest %s", own, died, seconds(times[len(times)/2]), seconds(times[len(times)-1])), broken(b.t))
	}
	// Where there were no results, there is no folder after.
	_, line, _, sent := b.stopped(b.last[benchSurveys[0]]/2, []os.Signal{os.Interrupt}, "map", "-o", "never/was", "--cache", "none", benchSurveys[0])
	if _, err := os.Stat(b.at("never")); sent && line == saidStopped && !errors.Is(err, fs.ErrNotExist) {
		b.t.Errorf("a stopped first run left a folder (%v)", err)
	}
	os.RemoveAll(b.at("never"))
}

// stopsLarge: every tenth of a second of a run of a larger county.
func stopsLarge(t *testing.T, survey string) {
	b := &bench{t: t, dir: t.TempDir(), exe: *tortureExe, sets: map[string]string{}}
	args := []string{"map", "--cache", "none", "-o", "out", survey}
	var digests []string
	var lasts time.Duration
	for _, a := range [][]string{append(args, "--explore", "3"), args} {
		began := time.Now()
		if code, said := b.run(a...); code != 0 {
			t.Fatalf("exit code %d: %s", code, said)
		}
		lasts = time.Since(began)
		digests = append(digests, b.digest("out"))
	}
	var times []time.Duration
	worst, own := time.Duration(0), 0
	for at := 100 * time.Millisecond; ; at += 100 * time.Millisecond {
		a, want := append(args, "--explore", "3"), digests[0]
		before := b.digest("out")
		if before == want {
			a, want = args, digests[1]
		}
		state, line, took, sent := b.stopped(at, []os.Signal{os.Interrupt}, a...)
		if !sent {
			break
		}
		switch got := b.digest("out"); {
		case state.ExitCode() == 130 && line == saidStopped && got == before:
		case state.ExitCode() == 130 && line == saidDone && got == want:
			own++
		case at <= 200*time.Millisecond && !state.Exited(): // before it hears signals
		default:
			t.Errorf("Ctrl-C after %s: %v, %q", at, state, line)
		}
		if took > time.Second {
			t.Errorf("Ctrl-C after %s: it took %s", at, took)
		}
		if took > worst {
			worst = took
			t.Logf("Ctrl-C after %s: %s, %s", at, took, line)
		}
		b.tidy("Ctrl-C after " + at.String())
		times = append(times, took)
	}
	slices.Sort(times)
	tabled(t, fmt.Sprintf("`map` of a larger county (%s)", seconds(lasts)), "Ctrl-C at every 0.1 s", len(times), fmt.Sprintf("its own results %d; median %s, longest %s", own, seconds(times[len(times)/2]), seconds(worst)), broken(t))
}

// twoAtOnce: a second run into a folder is refused at once, and so are the
// commands that write into it; the first ends well.
func (b *bench) twoAtOnce() {
	n, longest := few(1, 20), time.Duration(0)
	for range n {
		survey := benchSurveys[0]
		if b.whole("before") == survey {
			survey = benchSurveys[1]
		}
		first, said := b.start("map", "-q", "--cache", "none", survey)
		time.Sleep(time.Duration((0.4 + 0.3*b.rng.Float64()) * float64(b.last[survey])))
		first.Process.Signal(syscall.SIGSTOP) // so that it is surely there, however long the others take
		if state := b.alone(first); state != "" {
			continue
		}
		for _, args := range [][]string{{"map", "-q", "--cache", "none", benchSurveys[1]}, {"report", "out"}, {"pack", "out"}} {
			began := time.Now()
			code, told := b.run(args...)
			took := time.Since(began)
			longest = max(longest, took)
			if code != 1 || !oneLine(told) || !strings.Contains(told, "another run is writing into it") || took > 2*time.Second {
				b.t.Errorf("%q beside a run: exit code %d after %s: %s", args, code, took, told)
			}
		}
		first.Process.Signal(syscall.SIGCONT)
		if err := first.Wait(); err != nil {
			b.t.Errorf("the first run: %v: %s", err, said)
		}
		if got := b.whole("two at once"); got != survey {
			b.t.Errorf("two at once: results of %q, want %q", got, survey)
		}
		b.tidy("two at once")
	}
	tabled(b.t, "`map`, `report`, `pack`", "while another run works", 3*n, "refused within "+seconds(longest), broken(b.t))
}

// alone tells that a process that was to be held has ended already.
func (b *bench) alone(cmd *exec.Cmd) string {
	var ws syscall.WaitStatus
	pid, err := syscall.Wait4(cmd.Process.Pid, &ws, syscall.WUNTRACED, nil)
	if err != nil || pid != cmd.Process.Pid || !ws.Stopped() {
		return "ended"
	}
	return ""
}
