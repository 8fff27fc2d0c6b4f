//go:build unix

package main

import (
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

var kills = flag.Int("kills", 5, "moments at which a run is killed")

// Killed at any moment, a run leaves the results of the one before, or its own,
// whole; the next run succeeds and leaves nothing of the dead one.
func TestKilledAtAnyMoment(t *testing.T) {
	work := t.TempDir()
	made, err := layers()
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range made {
		if err := os.WriteFile(filepath.Join(work, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	surveys := []string{"a.yaml", "b.yaml"}
	for i, name := range surveys {
		text := fmt.Sprintf("name: Larchwood County\nelevation: {path: elevation.tif}\nstreams: {path: streams.gpkg}\nlandcover: {path: landcover.tif, legend: us-30m}\n"+
			"shortlist: {min_ha: 0.2, threshold: %g}\noutput: {layers: [%s]}\n", 0.3+0.1*float64(i), []string{"bottomland, slope", "height"}[i])
		if err := os.WriteFile(filepath.Join(work, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	start := func(survey string) *exec.Cmd {
		cmd := exec.Command(exe, "map", "-q", "--cache", "none", survey)
		cmd.Dir, cmd.Env = work, append(os.Environ(), actAsProgram+"=1")
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		return cmd
	}
	whole := func(survey string) string {
		t.Helper()
		if err := start(survey).Wait(); err != nil {
			t.Fatalf("%s: %v", survey, err)
		}
		return folderDigest(t, filepath.Join(work, "out"))
	}
	began := time.Now()
	want := []string{whole(surveys[0]), whole(surveys[1])}
	lasts := time.Since(began) / 2
	if want[0] == want[1] {
		t.Fatal("two settings give the same results")
	}
	before, err := os.ReadDir(work)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(9, 9))
	seen := map[string]int{}
	for i := range *kills {
		cmd := start(surveys[0]) // the results are those of the other
		at := time.Duration(rng.Float64() * 1.05 * float64(lasts))
		if i%3 == 2 { // while results are written and put in place
			at = time.Duration((0.7 + 0.35*rng.Float64()) * float64(lasts))
		}
		time.Sleep(at)
		cmd.Process.Kill()
		cmd.Wait()
		switch got := folderDigest(t, filepath.Join(work, "out")); got {
		case want[0]:
			seen["its own"]++
		case want[1]:
			seen["those before"]++
		default:
			t.Errorf("killed after %s: the results are neither of the run before nor its own", at)
		}
		if got := whole(surveys[1]); got != want[1] {
			t.Errorf("the run after one killed at %s gives other results", at)
		}
		after, err := os.ReadDir(work)
		if err != nil {
			t.Fatal(err)
		}
		if len(after) != len(before) {
			t.Errorf("killed after %s and run again: %d entries beside the results, want %d", at, len(after), len(before))
		}
	}
	t.Logf("%d kills in runs of %s: results left %v", *kills, lasts, seen)
}

// folderDigest sums up the results of a folder; what a dead run left half
// done is no result.
func folderDigest(t *testing.T, folder string) string {
	t.Helper()
	files := map[string][]byte{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if strings.HasPrefix(d.Name(), ".rillwood-") {
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if d.IsDir() {
			return nil
		}
		name, _ := filepath.Rel(folder, path)
		files[name], err = os.ReadFile(path)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	h := sha256.New()
	for _, name := range slices.Sorted(maps.Keys(files)) {
		fmt.Fprintf(h, "%s %d\n", name, len(files[name]))
		h.Write(files[name])
	}
	return hex.EncodeToString(h.Sum(nil))
}
