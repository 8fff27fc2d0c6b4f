//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"

	"rillwood/fixtures"
	"rillwood/raster"
)

var saysFull = regexp.MustCompile(`(?i)no space left on device|disk is full`)

// fullDisk: a disk that is full sooner or later is told in one line, and what
// was there is there.
func (b *bench) fullDisk(t *testing.T) {
	b.mapped(benchSurveys[0], "before")
	b.smallDisk(t, "16m")
	need := int64(0)
	for _, s := range []string{benchSurveys[1], benchSurveys[0]} {
		if code, said := b.run("map", "-q", "--cache", "none", "-o", "disk/out", s); code != 0 {
			t.Fatalf("exit code %d: %s", code, said)
		}
		if s == benchSurveys[1] {
			need = b.size("disk/out")
		}
	}
	before := b.digest("disk/out")
	shares := []float64{0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1}
	if *tortureKills == 0 {
		shares = []float64{0, 0.3, 0.7}
	}
	words := map[string]int{}
	for _, share := range shares {
		b.leave(t, int64(share*float64(need)))
		code, said := b.run("map", "-q", "--cache", "none", "-o", "disk/out", benchSurveys[1])
		got := b.digest("disk/out")
		switch {
		case code == 1 && oneLine(said) && saysFull.MatchString(said) && got == before:
			words[regexp.MustCompile(`"[^"]*"`).ReplaceAllString(said, "…")]++
		case code == 0 && share > 0.9 && b.sets[got] == benchSurveys[1]:
			before = got
		default:
			t.Errorf("%.2f of the room needed: exit code %d, results of %q: %s", share, code, b.sets[got], said)
		}
		b.leave(t, -1)
		b.tidy(fmt.Sprintf("%.2f of the room needed", share))
	}
	tabled(t, "`map`", "on a disk that has 0 to 100 % of the room", len(shares), fmt.Sprintf("earlier results, one line each (%d different ones)", len(words)), broken(t))
	for w, n := range words {
		t.Log(n, " × ", w)
	}
	if *tortureKills == 0 {
		return
	}
	b.fullDiskOthers(t)
	b.fullScratch(t)
}

// fullDiskOthers: the commands that write one file.
func (b *bench) fullDiskOthers(t *testing.T) {
	b.put("trip.csv", []byte("date,stop,lon,lat,host,condition,inspected,found,confirmed,note\n2025-11-22,bend,-87.02125,43.31840,elm,dead,12,1,yes,\n"))
	b.put("first.csv", []byte("date,stop,lon,lat,host,condition,inspected,found,confirmed,note\n2025-11-21,ford,-87.02225,43.31740,elm,dead,3,0,,\n"))
	// A store of one row, so that what is held is there to be lost.
	fresh := func() {
		os.RemoveAll(b.at("disk/store"))
		if code, said := b.run("record", "add", "disk/store", "first.csv"); code != 0 {
			t.Fatalf("exit code %d: %s", code, said)
		}
	}
	fresh()
	long := "date,stop,lon,lat,host,condition,inspected,found,confirmed,note\n"
	for i := range 3000 {
		long += fmt.Sprintf("2025-11-%02d,stop %d,%.5f,%.5f,elm,dead,12,1,yes,\n", 1+i%28, i, -87.02125+1e-4*float64(i%60), 43.3184+1e-4*float64(i/60))
	}
	b.put("long.csv", []byte(long))
	for _, args := range [][]string{
		{"record", "add", "disk/store", "trip.csv"}, {"record", "add", "disk/store", "long.csv"}, {"record", "export", "disk/store", "--out", "disk/e.csv"},
		{"report", "-o", "disk/page.html", "out"}, {"pack", "-o", "disk/p.zip", "out"}, {"learn", "out", "disk/store", "--out", "disk/l.yaml"}, {"init", "disk/new"},
	} {
		full := 0
		for _, free := range []int64{0, 4 << 10, 16 << 10, 64 << 10, 128 << 10} {
			what := "disk"
			if args[0] == "record" && args[1] == "add" {
				what = "disk/store/records.csv" // its backup may have been made by then
			}
			before := b.sum(what)
			b.leave(t, free)
			code, said := b.run(args...)
			b.leave(t, -1)
			switch {
			case code == 0:
			case code == 1 && oneLine(said) && saysFull.MatchString(said):
				full++
				if args[0] != "init" && b.sum(what) != before { // init makes several files
					t.Errorf("%q with %d bytes: the disk is not as it was: %q", args, free, b.list("disk"))
				}
			default:
				t.Errorf("%q with %d bytes: exit code %d: %s", args, free, code, said)
			}
			b.tidy(fmt.Sprintf("%q with %d bytes", args, free))
			if args[0] == "record" && args[1] == "add" {
				fresh()
			}
			for _, f := range []string{"disk/e.csv", "disk/page.html", "disk/p.zip", "disk/l.yaml", "disk/new"} {
				os.RemoveAll(b.at(f))
			}
			if code == 0 && free == 0 {
				t.Errorf("%q on a full disk ended well", args)
			}
		}
		if code, said := b.run(args...); code != 0 {
			t.Errorf("%q with room: exit code %d: %s", args, code, said)
		}
		tabled(t, "`"+strings.Join(args[:min(2, len(args))], " ")+"`", "on a disk that has 0 to 128 kB", 5, fmt.Sprintf("as before and one line %d, done %d", full, 5-full), broken(t))
	}
}

// sum is the digest of a folder, or the content of a file.
func (b *bench) sum(name string) string {
	if st, err := os.Stat(b.at(name)); err == nil && st.IsDir() {
		return b.digest(name)
	}
	data, err := os.ReadFile(b.at(name))
	if err != nil {
		return err.Error()
	}
	return string(data)
}

// fullScratch: the disk for scratch files is filled up by others during a run.
func (b *bench) fullScratch(t *testing.T) {
	for _, f := range []string{"disk/new", "disk/store"} {
		os.RemoveAll(b.at(f))
	}
	b.mapped(benchSurveys[0], "before")
	told, n := 0, 12
	for range n {
		os.RemoveAll(b.at("disk/out"))
		b.leave(t, 2<<20)
		free, err := raster.FreeDisk(b.at("disk"))
		if err != nil {
			t.Fatal(err)
		}
		before := b.whole("before")
		cmd, said := b.start("map", "-q", "--cache", "none", "--memory", "200MB", "--scratch", "disk", benchSurveys[1])
		gone := make(chan struct{})
		go func() { cmd.Wait(); close(gone) }()
		for done := false; !done; {
			if now, err := raster.FreeDisk(b.at("disk")); err == nil && now < free-int64(b.rng.IntN(200<<10)) {
				b.leave(t, 0)
				break
			}
			select {
			case <-gone:
				done = true
			default:
			}
		}
		<-gone
		b.leave(t, -1)
		switch got := b.whole("scratch is full"); {
		case cmd.ProcessState.ExitCode() == 1 && oneLine(said.String()) && saysFull.MatchString(said.String()) && strings.Contains(said.String(), "scratch") && got == before:
			told++
		case cmd.ProcessState.ExitCode() == 0 && got == benchSurveys[1]:
			b.mapped(benchSurveys[0], "again")
		default:
			t.Errorf("scratch is full: %v, results of %q: %s", cmd.ProcessState, got, said)
		}
		if left := b.list("disk"); len(left) > 0 {
			t.Errorf("scratch is full: left over %q", left)
		}
		b.tidy("scratch is full")
	}
	if told == 0 {
		t.Error("no run met a full scratch disk")
	}
	tabled(t, "`map`", "the scratch disk is filled by others", n, fmt.Sprintf("one line and earlier results %d, done %d", told, n-told), broken(t))
}

// smallDisk mounts a disk of that size at disk.
func (b *bench) smallDisk(t *testing.T, size string) {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("needs root, to mount a small disk")
	}
	if err := os.MkdirAll(b.at("disk"), 0o755); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", b.at("disk")).CombinedOutput(); err != nil {
		t.Skipf("cannot mount a small disk: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", b.at("disk")).CombinedOutput(); err != nil {
			t.Errorf("%v %s", err, out)
		}
	})
}

// leave fills the small disk up to so many bytes; -1 makes all room again.
func (b *bench) leave(t *testing.T, bytes int64) {
	t.Helper()
	path := b.at("disk/ballast")
	if bytes < 0 {
		os.Remove(path)
		return
	}
	free, err := raster.FreeDisk(b.at("disk"))
	if err != nil {
		t.Fatal(err)
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	f.Write(make([]byte, max(0, free-bytes))) // what does not fit is not wanted
}

func (b *bench) size(folder string) (bytes int64) {
	for _, name := range b.list(folder) {
		if st, err := os.Stat(filepath.Join(b.at(folder), name)); err == nil {
			bytes += (st.Size() + 4095) &^ 4095
		}
	}
	return bytes
}

// closedFolder: a folder that must not be written into is told at once.
func (b *bench) closedFolder(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("needs root, to be another user")
	}
	before := b.whole("before")
	for p := b.dir; p != filepath.Dir(p) && p != os.TempDir(); p = filepath.Dir(p) {
		os.Chmod(p, 0o755) // so that the other user comes there
	}
	exe := b.at("program")
	data, err := os.ReadFile(b.exe)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(exe, data, 0o755); err != nil {
		t.Fatal(err)
	}
	defer os.Remove(exe)
	survey := benchSurveys[0]
	if before == survey {
		survey = benchSurveys[1]
	}
	for _, args := range [][]string{{"map", "-q", "--cache", "none", survey}, {"report", "out"}, {"pack", "out"}} {
		cmd := exec.Command(exe, args...)
		cmd.Dir, cmd.Env = b.dir, append(os.Environ(), actAsProgram+"=1")
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		began := time.Now()
		out, _ := cmd.CombinedOutput()
		if code := cmd.ProcessState.ExitCode(); code != 1 || !oneLine(string(out)) || !strings.Contains(string(out), "cannot be written into: permission denied") {
			t.Errorf("%q into another's folder: exit code %d: %s", args, code, out)
		}
		if took := time.Since(began); took > b.last[survey] {
			t.Errorf("%q into another's folder: told after %s", args, took)
		}
	}
	if got := b.whole("after"); got != before {
		t.Errorf("results of %q, were of %q", got, before)
	}
	os.Remove(exe)
	b.tidy("another's folder")
	tabled(t, "`map`, `report`, `pack`", "into another user's folder", 3, "earlier results, one line, at once", broken(t))
}

// inputs: a layer that is cut off, taken away or replaced while a run reads it
// gives one line, or the map of one of its states, never a mixture.
func (b *bench) inputs(t *testing.T) {
	county, err := fixtures.New(150, 120, 10, 2)
	if err != nil {
		t.Fatal(err)
	}
	other := t.TempDir()
	if err := county.Write(t.Context(), other, nil); err != nil {
		t.Fatal(err)
	}
	survey, was := benchSurveys[1], b.sets
	defer func() { b.sets = was }()
	files := []string{"elevation.tif", "streams.gpkg", "landcover.tif"}
	deeds := []string{"cut", "taken away", "replaced"}
	if *tortureKills == 0 {
		files = files[:1]
	}
	for _, deed := range deeds {
		refused, done, n := 0, 0, 0
		for _, file := range files {
			good, err := os.ReadFile(b.at(file))
			if err != nil {
				t.Fatal(err)
			}
			strange, err := os.ReadFile(filepath.Join(other, file))
			if err != nil {
				t.Fatal(err)
			}
			b.sets = map[string]string{}
			for d, s := range was {
				b.sets[d] = s
			}
			if deed == "replaced" { // the map of what it is replaced by is right too
				b.put(file, strange)
				if code, said := b.run("map", "-q", "--cache", "none", survey); code != 0 {
					t.Fatalf("exit code %d: %s", code, said)
				}
				b.sets[b.digest("out")] = "of the other"
				b.put(file, good)
			}
			for i := range few(1, 20) {
				b.mapped(benchSurveys[0], "before")
				at := b.moment(survey, 0.1, 0.9)
				if i%2 == 0 {
					at = b.moment(survey, 0.15, 0.4) // while layers are read
				}
				cmd, said := b.start("map", "-q", "--cache", "none", survey)
				time.Sleep(at)
				switch deed {
				case "cut":
					os.Truncate(b.at(file), int64(len(good)/2))
				case "taken away":
					os.Remove(b.at(file))
				case "replaced":
					os.WriteFile(b.at(file+".x"), strange, 0o644)
					os.Rename(b.at(file+".x"), b.at(file))
				}
				cmd.Wait()
				n++
				when := fmt.Sprintf("%s %s after %s of %s", file, deed, at, b.last[survey])
				switch got, code := b.whole(when), cmd.ProcessState.ExitCode(); {
				case code == 0 && (got == survey || got == "of the other"):
					done++
				case code == 1 && got == benchSurveys[0] && oneLine(said.String()):
					refused++
				default:
					t.Errorf("%s: exit code %d, results of %q: %s", when, code, got, said)
				}
				b.put(file, good)
				b.tidy(when)
			}
		}
		tabled(t, "`map`", "a layer is "+deed+" meanwhile", n, fmt.Sprintf("one line and earlier results %d, right results %d", refused, done), broken(t))
	}
}
