//go:build unix

package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"rillwood/habitat/handover"
)

// killMap: killed at any moment, a run leaves the results of the one before, or
// its own, whole; the next run succeeds and leaves nothing of the dead one.
func (b *bench) killMap() {
	for _, c := range []struct {
		what string
		n    int
		kill func(survey string, args ...string) (ended bool)
	}{
		{"any moment", few(5, 100), func(survey string, args ...string) bool {
			return b.killed(b.moment(survey, 0, 1.02), args...)
		}},
		{"any moment of the last tenth", few(2, 40), func(survey string, args ...string) bool {
			return b.killed(b.moment(survey, 0.9, 1.02), args...)
		}},
		{"any moment of changing places", few(3, 40), func(survey string, args ...string) bool {
			return b.killedWhen("out/.rillwood-past", time.Duration(b.rng.Float64()*float64(4*time.Millisecond)), args...)
		}},
	} {
		seen := map[string]int{}
		for i := range c.n {
			// By turns the results of the one are to be replaced by those of the
			// other, which the run after the last kill has left.
			before := b.whole("before")
			kill := benchSurveys[0]
			if kill == before {
				kill = benchSurveys[1]
			}
			args := []string{"map", "-q", "--cache", "none", "--scratch", "scratch", kill}
			if i%2 > 0 {
				args = append(args, "--memory", "200MB") // planes in scratch files
			}
			when := fmt.Sprintf("%s killed at %s (%d)", kill, c.what, i)
			ended := c.kill(kill, args...)
			switch got := b.whole(when); {
			case got == before:
				seen["before"]++
			case ended:
				seen["ended"]++
			default:
				seen["own"]++
			}
			if left := b.list("scratch"); len(left) > 0 {
				b.t.Errorf("%s: scratch files %q", when, left)
			}
			b.mapped(kill, "the run after "+when)
		}
		tabled(b.t, "`map`", "killed at "+c.what, c.n, fmt.Sprintf("earlier results %d, its own %d, it had ended %d", seen["before"], seen["own"], seen["ended"]), broken(b.t))
	}
}

// killJournal: a folder that holds folders of the user's takes results by a
// journal. Files of two runs may lie there for a moment, which every command
// says; the next run makes the results whole.
func (b *bench) killJournal() {
	if err := os.MkdirAll(b.at("out/photos"), 0o755); err != nil {
		b.t.Fatal(err)
	}
	defer os.RemoveAll(b.at("out/photos"))
	b.put("out/photos/elm.jpg", []byte("mine"))
	seen := map[string]int{}
	n := few(2, 80)
	for i := range n {
		before := b.whole("before")
		kill := benchSurveys[0]
		if kill == before {
			kill = benchSurveys[1]
		}
		args := []string{"map", "-q", "--cache", "none", kill}
		if i%4 == 3 {
			b.killed(b.moment(kill, 0.8, 1.02), args...)
		} else {
			b.killedWhen("out/.rillwood-moves", time.Duration(b.rng.Float64()*float64(3*time.Millisecond)), args...)
		}
		if handover.Pending(b.at("out")) {
			seen["moving"]++
			if code, said := b.run("report", "-o", "page.html", "out"); code != 1 || !strings.Contains(said, "put in place") || !oneLine(said) {
				b.t.Errorf("a folder of two runs was read: exit code %d: %s", code, said)
			}
		} else if b.whole("killed") == kill {
			seen["own"]++
		} else {
			seen["before"]++
		}
		b.mapped(kill, "the run after a kill")
		if data, err := os.ReadFile(b.at("out/photos/elm.jpg")); err != nil || string(data) != "mine" {
			b.t.Errorf("the user's photo: %q, %v", data, err)
		}
	}
	tabled(b.t, "`map`, the folder holds folders", "killed while files move", n, fmt.Sprintf("earlier results %d, its own %d, half moved and saying so %d", seen["before"], seen["own"], seen["moving"]), broken(b.t))
}

// mapped runs a survey, which must succeed, leave its results, and nothing else.
func (b *bench) mapped(survey, when string) {
	b.t.Helper()
	if code, said := b.run("map", "-q", "--cache", "none", "--scratch", "scratch", survey); code != 0 {
		b.t.Errorf("%s: exit code %d: %s", when, code, said)
	}
	if got := b.whole(when); got != survey {
		b.t.Errorf("%s: the results are those of %q, want %q", when, got, survey)
	}
	b.tidy(when)
}

// killOthers: what the other commands write is there whole, or as it was.
func (b *bench) killOthers(t *testing.T) {
	b.mapped(benchSurveys[0], "before") // with the layers that learning needs
	trip := "date,stop,lon,lat,host,condition,inspected,found,confirmed,note\n"
	for i := range 60 {
		trip += fmt.Sprintf("2025-11-%02d,stop %d,-87.0%d,43.31%d,elm,dead,%d,%d,yes,\n", 1+i%28, i, 100+i, i, 1+i%7, i%2)
	}
	b.put("trip.csv", []byte(trip))
	b.put("more.csv", []byte(strings.Replace(trip, "2025-11-", "2026-01-", -1)))
	for _, c := range []struct {
		command string
		args    []string
		before  []string // makes what is there before
		file    string   // what it writes
	}{
		{"record add", []string{"record", "add", "store", "more.csv"}, []string{"record", "add", "store", "trip.csv"}, "store/records.csv"},
		{"learn", []string{"learn", "out", "store", "--out", "learned.yaml"}, nil, "learned.yaml"},
		{"pack", []string{"pack", "--top", "2", "out"}, []string{"pack", "--top", "1", "out"}, "out/pack.zip"},
		{"pack -o", []string{"pack", "--top", "2", "-o", "two.zip", "out"}, []string{"pack", "--top", "1", "-o", "two.zip", "out"}, "two.zip"},
		{"report", []string{"report", "--records", "store", "out"}, []string{"report", "out"}, "out/report.html"},
	} {
		if *tortureKills == 0 && (c.command == "pack -o" || c.command == "report") {
			continue // as the others
		}
		t.Run(c.command, func(t *testing.T) {
			b.t = t
			read := func() []byte { data, _ := os.ReadFile(b.at(c.file)); return data }
			again := func() (before, after []byte, lasts time.Duration) {
				os.RemoveAll(b.at(c.file))
				if c.command == "record add" {
					os.RemoveAll(b.at("store"))
				}
				if c.before != nil {
					if code, said := b.run(c.before...); code != 0 {
						t.Fatalf("%q: exit code %d: %s", c.before, code, said)
					}
				}
				before = read()
				began := time.Now()
				if code, said := b.run(c.args...); code != 0 {
					t.Fatalf("%q: exit code %d: %s", c.args, code, said)
				}
				return before, read(), time.Since(began)
			}
			before, after, lasts := again()
			if bytes.Equal(before, after) {
				t.Fatal("it changes nothing")
			}
			seen := map[bool]int{}
			n := few(1, 40)
			for i := range n {
				os.RemoveAll(b.at(c.file))
				if c.command == "record add" {
					os.RemoveAll(b.at("store"))
				}
				if c.before != nil {
					b.run(c.before...)
				}
				at := time.Duration((0.2 + 0.85*b.rng.Float64()) * float64(lasts))
				if i%3 == 2 {
					at = time.Duration((0.85 + 0.2*b.rng.Float64()) * float64(lasts))
				}
				b.killed(at, c.args...)
				got := read()
				if !bytes.Equal(got, before) && !bytes.Equal(got, after) {
					t.Errorf("killed after %s of %s: %d bytes that are neither the %d before nor the %d after", at, lasts, len(got), len(before), len(after))
				}
				done := bytes.Equal(got, after)
				seen[done]++
				if c.command == "learn" && done {
					os.Remove(b.at(c.file))
				}
				if code, said := b.run(c.args...); code != 0 || !bytes.Equal(read(), after) {
					t.Errorf("after a kill at %s: exit code %d, %d bytes: %s", at, code, len(read()), said)
				}
				b.tidy("after a kill at " + at.String())
			}
			tabled(t, "`"+c.command+"`", "killed at any moment", n, fmt.Sprintf("as before %d, its own %d", seen[false], seen[true]), broken(t))
		})
	}
	b.t = t
	os.RemoveAll(b.at("out/pack.zip"))
	b.mapped(benchSurveys[1], "at the end")
}

func broken(t testing.TB) string {
	if t.Failed() {
		return "SOME BROKEN"
	}
	return "none"
}
