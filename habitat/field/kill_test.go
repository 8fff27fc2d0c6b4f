package field

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"
)

// appendForever makes the test binary append trips until it is killed.
const appendForever = "RILLWOOD_TEST_APPEND"

// tripRows is how many rows a trip of keepAppending has.
const tripRows = 40

func keepAppending(dir string) {
	s, err := Open(dir)
	for k := 0; err == nil; k++ {
		var trip []Record
		for i := range tripRows {
			trip = append(trip, row(fmt.Sprintf("%d-%d-%d", os.Getpid(), k, i), 5, 0))
		}
		_, _, err = s.Append(trip)
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// Whenever a writer is killed the store holds whole trips, is not locked and
// has nothing damaged in it.
func TestKilledWriterLeavesWholeTrips(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	rows := 0
	for round := range 12 {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), appendForever+"="+dir)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// It is killed once it has written, at no particular moment.
		size := func() int64 {
			info, err := os.Stat(filepath.Join(dir, RecordsFile))
			if err != nil {
				return 0
			}
			return info.Size()
		}
		for was, tries := size(), 0; size() == was && tries < 2000; tries++ {
			time.Sleep(time.Millisecond)
		}
		time.Sleep(time.Duration(round*3) * time.Millisecond)
		cmd.Process.Kill()
		cmd.Wait()
		got, warnings, err := Load(dir)
		if err != nil || len(warnings) > 0 {
			t.Fatalf("round %d: %q, %v", round, warnings, err)
		}
		if len(got) <= rows || len(got)%tripRows != 0 {
			t.Fatalf("round %d: %d rows after %d, want more, in trips of %d", round, len(got), rows, tripRows)
		}
		rows = len(got)
	}
	add(t, open(t, dir), []Record{row("after", 1, 0)}, 1, 0)
}
