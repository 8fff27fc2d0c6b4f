package habitat

import (
	"bytes"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// Stages that are kept give the bytes of a run that works all out: at first,
// again, and with other weights, which need none of them anew. A damaged file
// is found and made again; another elevation gets files of its own.
func TestKeptStages(t *testing.T) {
	s := inventedSurvey(t)
	s.Output.Preview, s.Output.Report = false, false
	s.Evidence.ValleyFlatness = true
	heavier := builtin(t)
	heavier.Bottomland.WeightR.Value = -1.2
	weights := filepath.Join(t.TempDir(), "heavier.yaml")
	if err := heavier.Write(weights); err != nil {
		t.Fatal(err)
	}
	store := filepath.Join(t.TempDir(), "kept")
	run := func(profile, cache string) map[string][]byte {
		t.Helper()
		with := *s
		with.Profile, with.Run.Cache = profile, cache
		files, err := readFiles(mapped(t, &with).Folder)
		if err != nil {
			t.Fatal(err)
		}
		return files
	}
	same := func(what string, got, want map[string][]byte) {
		t.Helper()
		for _, name := range slices.Sorted(maps.Keys(want)) {
			if !bytes.Equal(got[name], want[name]) {
				t.Errorf("%s: %s has other bytes", what, name)
			}
		}
		if len(got) != len(want) {
			t.Errorf("%s: %d files, want %d", what, len(got), len(want))
		}
	}
	plain, other := run(DefaultProfile, "none"), run(weights, "none")
	if bytes.Equal(plain["suitability.tif"], other["suitability.tif"]) {
		t.Fatal("the weights change nothing: nothing is shown")
	}
	same("the first run", run(DefaultProfile, store), plain)
	kept, err := readFiles(store)
	if err != nil {
		t.Fatal(err)
	}
	if len(kept) < 2 {
		t.Fatalf("%d files are kept, want drainage and flatness", len(kept))
	}
	for name := range kept { // no clock is so coarse that a file made again keeps this
		if err := os.Chtimes(filepath.Join(store, name), time.Time{}, time.Unix(1_600_000_000, 0)); err != nil {
			t.Fatal(err)
		}
	}
	same("the same again", run(DefaultProfile, store), plain)
	same("other weights", run(weights, store), other)
	after, err := readFiles(store)
	if err != nil {
		t.Fatal(err)
	}
	same("what is kept", after, kept)

	for _, name := range slices.Sorted(maps.Keys(kept)) {
		bad := slices.Clone(kept[name])
		bad[len(bad)/2] ^= 0x10
		if err := os.WriteFile(filepath.Join(store, name), bad, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	same("out of damaged files", run(weights, store), other)
	if after, err = readFiles(store); err != nil {
		t.Fatal(err)
	}
	same("what was damaged", after, kept)

	// The same file read in another unit is other ground.
	s.Elevation.Unit = "us-ft"
	feet := run(DefaultProfile, "none")
	same("other heights", run(DefaultProfile, store), feet)
	if after, err = readFiles(store); err != nil || len(after) != 2*len(kept) {
		t.Errorf("%d files are kept for two grounds, want %d (%v)", len(after), 2*len(kept), err)
	}
}
