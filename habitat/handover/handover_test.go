package handover

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

func write(t *testing.T, dir string, files map[string]string) {
	t.Helper()
	for name, text := range files {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func read(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		name, _ := filepath.Rel(dir, path)
		files[filepath.ToSlash(name)] = string(data)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

var oldRun = map[string]string{"run.json": "old", "suitability.tif": "old", "ways.geojson": "old", "layers/slope.tif": "old", "layers/height.tif": "old"}

var newRun = map[string]string{"run.json": "new", "suitability.tif": "new", "layers/height.tif": "new"}

var gone = []string{"ways.geojson", "layers/slope.tif"}

// commit makes the new run's files and hands them over.
func commit(t *testing.T, c *Claim) error {
	t.Helper()
	stage, err := c.Stage()
	if err != nil {
		t.Fatal(err)
	}
	write(t, stage, newRun)
	return c.Commit(slices.Sorted(maps.Keys(newRun)), gone)
}

func take(t *testing.T, folder string) *Claim {
	t.Helper()
	c, err := Take(folder)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Release)
	return c
}

// beside lists what lies beside the folder, itself left out.
func beside(t *testing.T, folder string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(filepath.Dir(folder))
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if e.Name() != filepath.Base(folder) {
			names = append(names, e.Name())
		}
	}
	return names
}

// New results take the place of the old ones, whichever way they are moved;
// what the user keeps there stays.
func TestResultsChangePlaces(t *testing.T) {
	for _, c := range []struct {
		name    string
		keeps   map[string]string
		journal bool
	}{
		{name: "nothing else in the folder"},
		{name: "files of the user's", keeps: map[string]string{"notes.txt": "mine", "layers/mine.tif": "mine", "pack.zip": "mine"}},
		{name: "folders of the user's", keeps: map[string]string{"photos/elm.jpg": "mine"}, journal: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "out put ä")
			write(t, folder, oldRun)
			write(t, folder, c.keeps)
			before, err := os.Stat(folder)
			if err != nil {
				t.Fatal(err)
			}
			claim := take(t, folder)
			if err := commit(t, claim); err != nil {
				t.Fatal(err)
			}
			claim.Release()
			want := maps.Clone(newRun)
			maps.Copy(want, c.keeps)
			if got := read(t, folder); !maps.Equal(got, want) {
				t.Errorf("the folder holds %v, want %v", got, want)
			}
			if left := beside(t, folder); len(left) > 0 {
				t.Errorf("left beside it: %q", left)
			}
			after, err := os.Stat(folder)
			if err != nil {
				t.Fatal(err)
			}
			if canExchange && os.SameFile(before, after) != c.journal {
				t.Errorf("moved one by one: %v, want %v", os.SameFile(before, after), c.journal)
			}
		})
	}
}

// A journal is worked off by the next claim, however far the moves had come.
func TestJournalIsFinished(t *testing.T) {
	files := slices.Sorted(maps.Keys(newRun))
	for moved := range len(files) + 1 {
		t.Run(fmt.Sprint(moved, " moved"), func(t *testing.T) {
			folder := filepath.Join(t.TempDir(), "out")
			write(t, folder, oldRun)
			stage := filepath.Join(folder, stagePrefix+"x")
			write(t, stage, newRun)
			data, err := json.Marshal(moves{filepath.Base(stage), files, gone})
			if err != nil {
				t.Fatal(err)
			}
			write(t, folder, map[string]string{journalName: string(data)})
			for _, f := range files[:moved] {
				if err := os.Rename(filepath.Join(stage, f), filepath.Join(folder, f)); err != nil {
					t.Fatal(err)
				}
			}
			if !Pending(folder) {
				t.Error("not pending before it is finished")
			}
			take(t, folder).Release()
			if got := read(t, folder); !maps.Equal(got, newRun) {
				t.Errorf("the folder holds %v, want %v", got, newRun)
			}
			if Pending(folder) {
				t.Error("still pending")
			}
		})
	}
}

// A journal from elsewhere moves nothing out of the folder, nor into it.
func TestHostileJournal(t *testing.T) {
	for _, m := range []moves{{Stage: "../x", Files: []string{"run.json"}}, {Stage: "x"}, {Stage: stagePrefix + "x", Files: []string{"../../etc/run.json"}}, {}} {
		folder := filepath.Join(t.TempDir(), "out")
		write(t, folder, oldRun)
		data, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		write(t, folder, map[string]string{journalName: string(data)})
		c, err := Take(folder)
		if err == nil {
			c.Release()
			t.Errorf("%+v was taken", m)
			continue
		}
		if strings.Contains(err.Error(), "\n") || !strings.Contains(err.Error(), folder) {
			t.Errorf("error %v", err)
		}
		got := read(t, folder)
		delete(got, journalName)
		if !maps.Equal(got, oldRun) {
			t.Errorf("%+v changed the folder to %v", m, got)
		}
	}
}

// One run at a time; what a dead one left is cleared by the next, and nothing
// of another folder's run with it.
func TestOneRunAtATime(t *testing.T) {
	root := t.TempDir()
	folder := filepath.Join(root, "out")
	write(t, folder, oldRun)
	first := take(t, folder)
	if _, err := Take(folder); err == nil || !strings.Contains(err.Error(), "another run is writing into it") {
		t.Errorf("a second run is told %v", err)
	}
	link := filepath.Join(root, "link")
	if err := os.Symlink(folder, link); err != nil {
		t.Fatal(err)
	}
	if _, err := Take(link); err == nil {
		t.Error("a second run came in by a link")
	}
	os.Remove(link)
	other := take(t, filepath.Join(root, "out.b"))
	stage, err := other.Stage()
	if err != nil {
		t.Fatal(err)
	}
	// The first run dies: its stage stays behind.
	dead, err := first.Stage()
	if err != nil {
		t.Fatal(err)
	}
	write(t, dead, map[string]string{"suitability.tif": "half"})
	write(t, folder, map[string]string{".rillwood-scratch-1/plane": "half", ".rillwood-7.tif": "half"})
	for _, f := range first.held {
		f.Close()
	}
	take(t, folder).Release()
	if _, err := os.Stat(dead); err == nil {
		t.Error("the stage of the dead run is still there")
	}
	if _, err := os.Stat(stage); err != nil {
		t.Error("the stage of another folder's run is gone")
	}
	if got := read(t, folder); !maps.Equal(got, oldRun) {
		t.Errorf("the folder holds %v", got)
	}
}

// A run that fails leaves the results as they were, and no folder that was not there.
func TestFailureLeavesAllAsItWas(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "a", "out")
	c := take(t, folder)
	if _, err := c.Stage(); err != nil {
		t.Fatal(err)
	}
	c.Release()
	if _, err := os.Stat(folder); err == nil {
		t.Error("a folder is left where there was none")
	}
	write(t, folder, oldRun)
	c = take(t, folder)
	stage, err := c.Stage()
	if err != nil {
		t.Fatal(err)
	}
	write(t, stage, map[string]string{"run.json": "half"})
	c.Release()
	if got := read(t, folder); !maps.Equal(got, oldRun) {
		t.Errorf("the folder holds %v", got)
	}
	if left := beside(t, folder); len(left) > 0 {
		t.Errorf("left beside it: %q", left)
	}
}

// A folder in the place of a result is told before anything moves.
func TestFolderInTheWay(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "out")
	write(t, folder, map[string]string{"run.json": "old", "suitability.tif/inside": "mine"})
	c := take(t, folder)
	stage, err := c.Stage()
	if err != nil {
		t.Fatal(err)
	}
	write(t, stage, map[string]string{"run.json": "new", "suitability.tif": "new"})
	before := read(t, folder)
	if err := c.byJournalOf([]string{"run.json", "suitability.tif"}); err == nil || !strings.Contains(err.Error(), "is a folder") {
		t.Errorf("error %v", err)
	}
	if got := read(t, folder); !maps.Equal(got, before) {
		t.Errorf("the folder holds %v, want %v", got, before)
	}
}

// byJournalOf moves by journal whatever else could be done.
func (c *Claim) byJournalOf(files []string) error {
	if !c.within {
		within := filepath.Join(c.folder, stagePrefix+"beside")
		if err := os.Rename(c.stage, within); err != nil {
			return err
		}
		c.stage, c.within = within, true
		defer os.RemoveAll(within)
	}
	return c.byJournal(files, nil)
}

// Names that leave the folder are refused.
func TestNamesStayInTheFolder(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "out")
	c := take(t, folder)
	if _, err := c.Stage(); err != nil {
		t.Fatal(err)
	}
	if err := c.Commit([]string{"../run.json"}, nil); err == nil || !strings.Contains(err.Error(), "would leave it") {
		t.Errorf("error %v", err)
	}
}
