package handover

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"pgregory.net/rapid"
)

// crashVar makes the test binary a run that is killed: FOLDER|WAY|RUN|STEP.
const crashVar = "RILLWOOD_HANDOVER_CRASH"

func TestMain(m *testing.M) {
	if told := os.Getenv(crashVar); told != "" {
		crash(strings.Split(told, "|"))
	}
	os.Exit(m.Run())
}

// crash hands a run over and is killed before the step of that number.
func crash(told []string) {
	run, _ := strconv.Atoi(told[2])
	left, _ := strconv.Atoi(told[3])
	at = func(string) {
		if left--; left < 0 {
			syscall.Kill(os.Getpid(), syscall.SIGKILL)
			select {}
		}
	}
	if err := handOver(told[0], told[1], run); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

// ways of putting results in place.
var ways = []string{"exchange", "journal", "inside"}

// handOver does what a run does with its folder.
func handOver(folder, way string, run int) error {
	if way == "journal" {
		defer func(f func(a, b string) error) { swapFolders = f }(swapFolders)
		swapFolders = func(a, b string) error { return syscall.EINVAL }
	}
	c, err := Take(folder)
	if err != nil {
		return err
	}
	defer c.Release()
	stage := ""
	if way == "inside" {
		stage, err = os.MkdirTemp(c.folder, stagePrefix)
		c.stage, c.within = stage, true
	} else {
		stage, err = c.Stage()
	}
	if err != nil {
		return err
	}
	files := resultsOf(run)
	for name, text := range files {
		path := filepath.Join(stage, filepath.FromSlash(name))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o755), os.WriteFile(path, []byte(text), 0o644)); err != nil {
			return err
		}
	}
	var gone []string
	for _, f := range outputsIn(folder) {
		if files[f] == "" {
			gone = append(gone, f)
		}
	}
	return c.Commit(slices.Sorted(maps.Keys(files)), gone)
}

// resultsOf are the files of a run; those that follow each other differ.
func resultsOf(run int) map[string]string {
	names := []string{"run.json", "suitability.tif", "layers/height.tif"}
	names = append(names, [][]string{{"ways.geojson"}, {"layers/slope.tif", "preview.png"}, {}}[run%3]...)
	if run%5 == 4 {
		names = slices.DeleteFunc(names, func(n string) bool { return strings.HasPrefix(n, "layers/") })
	}
	files := map[string]string{}
	for _, n := range names {
		files[n] = fmt.Sprint(n, " of run ", run)
	}
	list, err := json.Marshal(names)
	if err != nil {
		panic(err)
	}
	files["run.json"] = string(list) + fmt.Sprint("\nrun ", run)
	return files
}

func outputsIn(folder string) (names []string) {
	data, err := os.ReadFile(filepath.Join(folder, "run.json"))
	if err != nil {
		return nil
	}
	line, _, _ := strings.Cut(string(data), "\n")
	json.Unmarshal([]byte(line), &names)
	return names
}

// visible is what a user sees in a folder.
func visible(t testing.TB, folder string) map[string]string {
	files := readAll(t, folder)
	maps.DeleteFunc(files, func(name, _ string) bool { return hidden(name) })
	return files
}

func hidden(name string) bool { return strings.Contains("/"+name, "/"+leftover) }

// Killed before any step, again while the next run clears up, and so on: what
// is seen are the results of one run, whole, or a journal that says otherwise;
// the user's files are there; and the run that is not killed leaves its
// results and nothing else.
func TestKilledBeforeAnyStep(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	root := t.TempDir()
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		dir := filepath.Join(root, strconv.Itoa(n))
		folder := filepath.Join(dir, "out")
		mine := map[string]string{}
		for _, f := range rapid.SliceOfDistinct(rapid.SampledFrom([]string{"notes.txt", "layers/my own.tif", "zimt ü.csv", "photos/1.jpg", "pack.zip"}), rapid.ID).Draw(r, "the user's") {
			mine[f] = "mine: " + f
		}
		writeAll(t, folder, mine)
		earlier := rapid.Bool().Draw(r, "results before")
		now := 0
		if earlier {
			if err := handOver(folder, "exchange", 0); err != nil {
				r.Fatal(err)
			}
		}
		for range rapid.IntRange(1, 3).Draw(r, "kills") {
			now++
			way := rapid.SampledFrom(ways).Draw(r, "way")
			step := rapid.IntRange(0, 22).Draw(r, "step")
			cmd := exec.Command(self)
			cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%s|%s|%d|%d", crashVar, folder, way, now, step))
			out, err := cmd.CombinedOutput()
			if exit := (*exec.ExitError)(nil); errors.As(err, &exit) && exit.Exited() {
				r.Fatalf("a run could not be handed over: %s", out)
			}
			got := visible(t, folder)
			for f, text := range mine {
				if got[f] != text {
					r.Fatalf("the user's %q holds %q", f, got[f])
				}
				delete(got, f)
			}
			if Pending(folder) {
				seen["journal left"]++
				continue // the program says so, and the next run makes it whole
			}
			is := -1
			for k := range now + 1 {
				if maps.Equal(got, resultsOf(k)) {
					is = k
				}
			}
			switch {
			case is < 0 && (earlier || len(got) > 0):
				r.Fatalf("%s killed at step %d: the results of no run: %v", way, step, got)
			case is == now:
				seen["new"]++
				earlier = true
			default:
				seen["old"]++
			}
		}
		now++
		if err := handOver(folder, rapid.SampledFrom(ways).Draw(r, "last way"), now); err != nil {
			r.Fatal(err)
		}
		want := resultsOf(now)
		maps.Copy(want, mine)
		if got := readAll(t, folder); !maps.Equal(got, want) {
			r.Fatalf("at the end: %v, want %v", got, want)
		}
		if names := listAll(t, dir); slices.ContainsFunc(names, hidden) {
			r.Fatalf("left over: %q", names)
		}
	})
	for _, k := range []string{"old", "new", "journal left"} {
		if seen[k] < 5 && !t.Failed() {
			t.Errorf("killed runs left %v: the test saw too little", seen)
		}
	}
	t.Logf("%d cases; killed runs left %v", n, seen)
}

// Bytes are on the disk before anything is decided, names before anything is removed.
func TestOrderOfSteps(t *testing.T) {
	for way, want := range map[string][]string{
		"exchange": {"sync", "carry", "mark", "name .rillwood-past", "exchange", "sync exchange", "remove old run.json", "remove old"},
		"journal":  {"sync", "carry", "mark", "exchange", "move in", "write journal", "name .rillwood-moves", "move run.json", "remove preview.png", "sync moves", "remove stage", "remove journal"},
		"inside":   {"sync", "write journal", "name .rillwood-moves", "move run.json", "remove preview.png", "sync moves", "remove stage", "remove journal"},
	} {
		t.Run(way, func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "out")
			if err := handOver(folder, "inside", 1); err != nil {
				t.Fatal(err)
			}
			var steps []string
			old, oldSync := at, fsync
			defer func() { at, fsync = old, oldSync }()
			at = func(step string) { steps = append(steps, step) }
			synced := map[string]int{} // by the step they came after
			fsync = func(f *os.File) error { synced[steps[len(steps)-1]]++; return nil }
			if err := handOver(folder, way, 2); err != nil {
				t.Fatal(err)
			}
			last := -1
			for _, w := range want {
				i := slices.Index(steps, w)
				if i <= last {
					t.Fatalf("%q is at %d after %d in %q", w, i, last, steps)
				}
				last = i
			}
			if n := len(resultsOf(2)) + 2; synced["sync"] < n { // the stage and its layers
				t.Errorf("%d files and folders brought to the disk, want %d: %v", synced["sync"], n, synced)
			}
			if way == "exchange" && synced["sync exchange"] == 0 || way != "exchange" && synced["sync moves"] == 0 {
				t.Errorf("names are not brought to the disk: %v", synced)
			}
		})
	}
}

// A disk that fails to keep something is told of, and the results are those
// the error says.
func TestDiskThatFails(t *testing.T) {
	old := fsync
	defer func() { fsync = old }()
	for _, way := range ways {
		kept := map[string]bool{}
		for nth := 0; ; nth++ {
			folder := filepath.Join(t.TempDir(), "out")
			writeAll(t, folder, map[string]string{"notes.txt": "mine"})
			fsync = old
			if err := handOver(folder, "exchange", 0); err != nil {
				t.Fatal(err)
			}
			calls := 0
			fsync = func(*os.File) error {
				if calls++; calls == nth+1 {
					return &os.PathError{Op: "sync", Path: "x", Err: syscall.EIO}
				}
				return nil
			}
			err := handOver(folder, way, 1)
			fsync = old
			if calls <= nth {
				if err != nil {
					t.Fatal(err)
				}
				break // every call has failed once
			}
			if err == nil || !strings.Contains(err.Error(), "input/output error") || strings.Contains(err.Error(), "\n") {
				t.Fatalf("%s: flush %d failed and the run said %v", way, nth, err)
			}
			run, says := 0, "as they were"
			switch {
			case strings.Contains(err.Error(), "are in place"):
				run, says = 1, "are in place"
			case strings.Contains(err.Error(), "cannot all be"):
				run, says = 1, "cannot all be"
				if !Pending(folder) {
					t.Errorf("%s: flush %d failed: %v; and no journal tells it", way, nth, err)
				}
				take(t, folder).Release()
			case !strings.Contains(err.Error(), says):
				t.Errorf("%s: flush %d failed: %v", way, nth, err)
			}
			kept[says] = true
			want := resultsOf(run)
			want["notes.txt"] = "mine"
			if got := visible(t, folder); !maps.Equal(got, want) {
				t.Errorf("%s: flush %d failed: %v; the folder holds %v", way, nth, err, got)
			}
			if err := handOver(folder, way, 2); err != nil {
				t.Fatal(err)
			}
			if left := listAll(t, filepath.Dir(folder)); slices.ContainsFunc(left, hidden) {
				t.Errorf("%s: flush %d failed: the next run left %q", way, nth, left)
			}
		}
		if len(kept) != 2 { // before it is decided, and after
			t.Errorf("%s: errors said %v", way, kept)
		}
	}
}

// What the user saves while a run is put in place is kept, also when the run
// is killed right then.
func TestSavedMeanwhile(t *testing.T) {
	for _, killed := range []bool{false, true} {
		folder := filepath.Join(t.TempDir(), "out")
		writeAll(t, folder, map[string]string{"notes.txt": "first", "same.txt": "same"})
		if err := handOver(folder, "exchange", 0); err != nil {
			t.Fatal(err)
		}
		old := at
		defer func() { at = old }()
		at = func(step string) {
			switch step {
			case "exchange": // carried over already
				writeAll(t, folder, map[string]string{"late.txt": "late", "layers/late.tif": "late", "saved": "second"})
				if err := os.Rename(filepath.Join(folder, "saved"), filepath.Join(folder, "notes.txt")); err != nil { // as editors save
					t.Fatal(err)
				}
			case "sync exchange":
				if killed {
					panic("killed")
				}
			}
		}
		func() {
			defer func() { recover() }()
			if err := handOver(folder, "exchange", 1); err != nil {
				t.Fatal(err)
			}
		}()
		at = old
		if left := beside(t, folder); (len(left) > 0) != killed {
			t.Errorf("killed %v: beside the folder: %q", killed, left)
		}
		take(t, folder).Release()
		want := resultsOf(1)
		maps.Copy(want, map[string]string{"notes.txt": "second", "same.txt": "same", "late.txt": "late", "layers/late.tif": "late"})
		if got := readAll(t, folder); !maps.Equal(got, want) {
			t.Errorf("killed %v: the folder holds %v, want %v", killed, got, want)
		}
		if left := beside(t, folder); len(left) > 0 {
			t.Errorf("killed %v: left beside the folder: %q", killed, left)
		}
	}
}
