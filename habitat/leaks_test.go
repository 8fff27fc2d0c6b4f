package habitat

import (
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"
)

// Runs and checks, whether they end well or ill, leave no goroutine, no open
// file and no folder behind.
func TestRunsLeaveNothingBehind(t *testing.T) {
	s := inventedSurvey(t)
	s.Output.Layers, s.Output.Preview, s.Output.Report, s.Run.Cache = []string{"none"}, false, false, "none"
	s.Shortlist.Draws = 0
	bad := *s
	bad.LandCover.Legend = "world-10m"
	open := func() int {
		names, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			t.Skip("no /proc/self/fd: ", err)
		}
		return len(names)
	}
	once := func() {
		dir := t.TempDir()
		s.Output.Folder, bad.Output.Folder = filepath.Join(dir, "out"), filepath.Join(dir, "bad")
		if _, err := Map(t.Context(), s, nil); err != nil {
			t.Fatal(err)
		}
		if _, err := Map(t.Context(), &bad, nil); err == nil {
			t.Fatal("a wrong legend was taken")
		}
		if r := CheckSurvey(t.Context(), s.File); !r.OK {
			t.Fatal(r.Problems)
		}
		if names, err := os.ReadDir(dir); err != nil || len(names) != 1 {
			t.Errorf("left behind: %v, %v", names, err)
		}
	}
	once() // what is opened once and kept, such as the list of coordinate systems
	files, routines := open(), runtime.NumGoroutine()
	for range 20 {
		once()
	}
	for range 50 { // a goroutine that ends may need a moment
		if runtime.NumGoroutine() <= routines {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if n := runtime.NumGoroutine(); n > routines {
		t.Errorf("%d goroutines, %d before", n, routines)
	}
	runtime.GC()
	if n := open(); n > files {
		t.Errorf("%d open files, %d before", n, files)
	}
}
