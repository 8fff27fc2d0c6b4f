//go:build unix

package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"rillwood/habitat/handover"
)

// TestTorture ends runs at all moments and in all ways, and holds what is left
// against the two sets of files that two settings give. It takes minutes, so it
// is left out unless asked for; scripts/torture runs it.
var (
	tortureKills = flag.Int("torture", -1, "kills of a map; 0 = a few, -1 = leave the test out")
	tortureTable = flag.String("torture-table", "", "file to write what was seen to, as tables")
	tortureExe   = flag.String("torture-exe", "", "program to run (default: the one tested)")
	tortureBig   = flag.String("torture-big", "", "survey of a larger county, to be stopped at every tenth of a second")
	tortureSeed  = flag.Uint64("torture-seed", 1, "of the moments")
)

// What is there before is there after, or what was asked for, whole: whatever
// ends a run, and whenever.
func TestTorture(t *testing.T) {
	if *tortureKills < 0 {
		t.Skip("takes minutes; scripts/torture runs it")
	}
	b := tortureBench(t, t.TempDir())
	for _, c := range []struct {
		name string
		test func(t *testing.T)
	}{
		{"kill map", func(*testing.T) { b.killMap() }},
		{"kill map by journal", func(*testing.T) { b.killJournal() }},
		{"kill others", func(t *testing.T) { b.killOthers(t) }},
		{"stop", func(*testing.T) { b.stops() }},
		{"two at once", func(*testing.T) { b.twoAtOnce() }},
		{"another's folder", func(t *testing.T) { b.closedFolder(t) }},
		{"inputs change", func(t *testing.T) { b.inputs(t) }},
		{"full disk", func(t *testing.T) { b.fullDisk(t) }},
	} {
		if !t.Run(c.name, func(t *testing.T) { b.t = t; c.test(t) }) {
			b = tortureBench(t, t.TempDir())
		}
	}
	if *tortureBig != "" {
		t.Run("stop a larger one", func(t *testing.T) { stopsLarge(t, *tortureBig) })
	}
}

// few gives the number of tries: short, or so many hundredths of the kills.
func few(short, hundredths int) int {
	if *tortureKills == 0 {
		return short
	}
	return max(short, *tortureKills*hundredths/100)
}

// bench is a folder with the layers of a small county and two surveys, a.yaml
// and b.yaml, whose results differ.
type bench struct {
	t    testing.TB
	dir  string
	exe  string
	sets map[string]string        // digest of all files of out → survey
	last map[string]time.Duration // how long a run of a survey takes
	rng  *rand.Rand
}

var benchSurveys = []string{"a.yaml", "b.yaml"}

// tortureBench makes the bench in dir and runs both surveys into dir/out; b.yaml last.
func tortureBench(t testing.TB, dir string) *bench {
	t.Helper()
	made, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	b := &bench{t: t, dir: dir, exe: *tortureExe, sets: map[string]string{}, last: map[string]time.Duration{}, rng: rand.New(rand.NewPCG(*tortureSeed, 7))}
	if b.exe == "" {
		if b.exe, err = os.Executable(); err != nil {
			t.Fatal(err)
		}
	}
	for name, data := range made {
		b.put(name, data)
	}
	if err := os.MkdirAll(b.at("scratch"), 0o755); err != nil {
		t.Fatal(err)
	}
	for i, name := range benchSurveys {
		text := "name: Larchwood County\nelevation: {path: elevation.tif, unit: m}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n"
		output := []string{"layers: [relative-height, brook-height, slope, stream-distance]", "layers: [height]"}[i]
		if *tortureKills == 0 { // quicker
			text += fmt.Sprintf("shortlist: {min_ha: 6, max_ha: %d, draws: 0}\noutput: {preview: false, %s}\n", 13+i, output)
		} else {
			text += fmt.Sprintf("approach: {paths: {path: places.gpkg, layer: paths}, parking: {path: places.gpkg, layer: parking}}\nshortlist: {min_ha: 0.2, threshold: %g}\noutput: {%s}\n", 0.3+0.1*float64(i), output)
		}
		b.put(name, []byte(text))
	}
	for _, s := range benchSurveys {
		began := time.Now()
		if code, said := b.run("map", "-q", "--cache", "none", s); code != 0 {
			t.Fatalf("%s: exit code %d: %s", s, code, said)
		}
		b.last[s] = time.Since(began)
		b.sets[b.digest("out")] = s
	}
	if len(b.sets) != len(benchSurveys) {
		t.Fatal("two settings give the same results")
	}
	return b
}

func (b *bench) at(name string) string { return filepath.Join(b.dir, filepath.FromSlash(name)) }

func (b *bench) put(name string, data []byte) {
	b.t.Helper()
	if err := os.WriteFile(b.at(name), data, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// start starts the program in the bench's folder.
func (b *bench) start(args ...string) (*exec.Cmd, *bytes.Buffer) {
	b.t.Helper()
	var said bytes.Buffer
	cmd := exec.Command(b.exe, args...)
	cmd.Dir, cmd.Env = b.dir, append(os.Environ(), actAsProgram+"=1")
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		b.t.Fatal(err)
	}
	return cmd, &said
}

// run runs the program to its end.
func (b *bench) run(args ...string) (code int, said string) {
	b.t.Helper()
	cmd, out := b.start(args...)
	cmd.Wait()
	return cmd.ProcessState.ExitCode(), out.String()
}

// killed starts the program and kills it after a while.
func (b *bench) killed(after time.Duration, args ...string) (ended bool) {
	b.t.Helper()
	cmd, _ := b.start(args...)
	time.Sleep(after)
	cmd.Process.Kill()
	cmd.Wait()
	return cmd.ProcessState.Exited()
}

// killedWhen starts the program and kills it a while after a file is there.
func (b *bench) killedWhen(file string, after time.Duration, args ...string) (ended bool) {
	b.t.Helper()
	cmd, _ := b.start(args...)
	gone := make(chan struct{})
	go func() { cmd.Wait(); close(gone) }()
	for done := false; !done; {
		if _, err := os.Lstat(b.at(file)); err == nil {
			for end := time.Now().Add(after); time.Now().Before(end); {
			}
			break
		}
		select {
		case <-gone:
			done = true
		default:
		}
	}
	cmd.Process.Kill()
	<-gone
	return cmd.ProcessState.Exited()
}

// digest sums up the results in a folder, what is hidden or the user's left out.
func (b *bench) digest(folder string) string {
	b.t.Helper()
	h := sha256.New()
	for _, name := range b.list(folder) {
		if strings.Contains("/"+name, "/.") || strings.HasPrefix(name, "photos/") || name == "pack.zip" {
			continue
		}
		data, err := os.ReadFile(filepath.Join(b.at(folder), name))
		if err != nil {
			b.t.Fatal(err)
		}
		fmt.Fprintf(h, "%s %d\n", name, len(data))
		h.Write(data)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// list lists the files below a folder, hidden ones too, in order.
func (b *bench) list(folder string) (names []string) {
	b.t.Helper()
	err := filepath.WalkDir(b.at(folder), func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			name, _ := filepath.Rel(b.at(folder), path)
			names = append(names, filepath.ToSlash(name))
		}
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		b.t.Fatal(err)
	}
	slices.Sort(names)
	return names
}

// whole tells which survey's results lie in out; it is an error of the test
// when they are those of none, or of two.
func (b *bench) whole(when string) string {
	b.t.Helper()
	if handover.Pending(b.at("out")) {
		b.t.Errorf("%s: a journal is left where folders change places", when)
	}
	survey := b.sets[b.digest("out")]
	if survey == "" {
		b.t.Errorf("%s: the results are those of no run: %q", when, b.list("out"))
	}
	if ids := b.runIDs("out"); len(ids) != 3 || ids[0] != ids[1] || ids[0] != ids[2] {
		b.t.Errorf("%s: record, shortlist and page name the runs %q", when, ids)
	}
	return survey
}

var pageRun = regexp.MustCompile(`"run":"([0-9a-f]{12})"`)

// runIDs are the runs that record, shortlist and page say they are of.
func (b *bench) runIDs(folder string) (ids []string) {
	for _, name := range []string{"run.json", "shortlist.geojson"} {
		var doc struct {
			Run      string
			Rillwood struct{ Run string }
		}
		data, err := os.ReadFile(filepath.Join(b.at(folder), name))
		if err == nil && json.Unmarshal(data, &doc) == nil {
			ids = append(ids, doc.Run+doc.Rillwood.Run)
		}
	}
	data, _ := os.ReadFile(filepath.Join(b.at(folder), "report.html"))
	if m := pageRun.FindSubmatch(data); m != nil {
		ids = append(ids, string(m[1]))
	}
	return ids
}

// tidy holds what lies in the bench against what is meant to lie there:
// nothing hidden, in the results, beside them, or where scratch files go.
func (b *bench) tidy(when string) {
	b.t.Helper()
	err := filepath.WalkDir(b.dir, func(path string, d fs.DirEntry, err error) error {
		if err == nil && path != b.dir && (strings.HasPrefix(d.Name(), ".") || strings.HasSuffix(d.Name(), ".new") || filepath.Base(filepath.Dir(path)) == "scratch") {
			b.t.Errorf("%s: left over: %q", when, path)
		}
		return err
	})
	if err != nil {
		b.t.Fatal(err)
	}
}

// oneLine tells whether an error was told in one clear line.
func oneLine(said string) bool {
	line, rest, _ := strings.Cut(said, "\n")
	return rest == "" && strings.HasPrefix(line, "rillwood: ") && len(line) > 30 && len(line) < 700 && !strings.Contains(line, "fault of the program")
}

// moment draws a share of a run's duration, from low to high.
func (b *bench) moment(survey string, low, high float64) time.Duration {
	return time.Duration((low + (high-low)*b.rng.Float64()) * float64(b.last[survey]))
}

// tabled writes a row of what was seen, for the guide, and logs it.
func tabled(t testing.TB, cells ...any) {
	t.Helper()
	row := "|"
	for _, c := range cells {
		row += fmt.Sprint(" ", c, " |")
	}
	t.Log(row)
	if *tortureTable == "" {
		return
	}
	f, err := os.OpenFile(*tortureTable, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	fmt.Fprintln(f, row)
}

func seconds(d time.Duration) string { return fmt.Sprintf("%.2f s", d.Seconds()) }
