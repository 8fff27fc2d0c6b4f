package inventory

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rillwood/raster"
	"rillwood/vector"
)

// Trees that stand in one cell: the share there is (dead + prior·profile) /
// (known + prior), the mean of a Beta distribution (any text on Bayesian
// statistics), worked by hand.
func TestDeadShareByHand(t *testing.T) {
	f := ground(t, 41, 41, 10)
	for _, c := range []struct {
		name          string
		species       string
		alive, dead   int
		none          int
		prior         float64
		want          uint8 // in the trees' cell; 0: no plane at all
		profileRemark string
	}{
		{"three dead cottonwoods", "742", 0, 3, 0, 0, 109, "(3 + 5·0.1)/(3 + 5) = 0.4375"},
		{"trees without status say nothing", "742", 0, 3, 90, 0, 109, "the same"},
		{"a strong prior", "742", 0, 3, 0, 95, 32, "(3 + 9.5)/98 = 0.12755"},
		{"dead and living", "742", 3, 2, 0, 0, 63, "(2 + 0.5)/10 = 0.25, stored 62.5 rounded up"},
		{"fewer dead than the profile has", "544", 9, 1, 0, 0, ShareProfile, "(1 + 2.5)/15 = 0.233 < 0.5"},
		{"no dead at all", "742", 20, 0, 0, 0, 0, ""},
		{"no status at all", "742", 0, 0, 20, 0, 0, ""},
	} {
		var b strings.Builder
		b.WriteString("x,y,spcd,statuscd\n")
		for status, n := range []int{c.none, c.alive, c.dead} {
			for range n {
				fmt.Fprintf(&b, "500205,4399795,%s,%d\n", c.species, status)
			}
		}
		s := TreeSource{CSV: write(t, "t.csv", b.String()), CRS: utm, BandwidthM: 20, DeadPrior: c.prior, Extent: vector.Query{Path: square(t, [4]float64{490000, 4390000, 510000, 4410000}), CRS: utm}}
		all, _ := read(t, s, f)
		if c.want == 0 {
			if all[0].DeadShare != nil {
				t.Errorf("%s: a plane of dead shares, want none", c.name)
			}
			continue
		}
		got := cellsOf(t, all[0].DeadShare)
		if v := got[20*f.W+20]; v != c.want {
			t.Errorf("%s: share %d, want %d: %s", c.name, v, c.want, c.profileRemark)
		}
		if v := got[0]; v != ShareProfile {
			t.Errorf("%s: far from the trees: share %d, want the profile's", c.name, v)
		}
	}
}

func TestDeadShareOnlyRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := settings{prior: rapid.Float64Range(1e-3, 1e3).Draw(t, "prior"), kernel: gaussian(rapid.Float64Range(0.1, 30).Draw(t, "sigma"))}
		profile := rapid.Float64Range(0, 1).Draw(t, "profile")
		known := rapid.Float64Range(0, 100).Draw(t, "known")
		dead := known * rapid.Float64Range(0, 1).Draw(t, "dead")
		got := s.storeShare(profile, known, dead)
		if got == ShareProfile {
			return
		}
		if share := float64(got) / ShareUnit; share < profile-0.5/ShareUnit || share > 1 || share > max(profile, dead/known)+0.5/ShareUnit+1e-9 {
			t.Fatalf("share %g from profile %g and %g of %g", share, profile, dead, known)
		}
	})
}

// The same bytes whatever the workers and wherever the planes live.
func TestSameBytes(t *testing.T) {
	f := ground(t, 700, 560, 5) // several tiles
	rng := rand.New(rand.NewPCG(2, 2))
	var b strings.Builder
	b.WriteString("x,y,species,dbh_cm,status\n")
	for range 3000 {
		fmt.Fprintf(&b, "%.2f,%.2f,%s,%.1f,%s\n", 499900+3700*rng.Float64(), 4397000+3100*rng.Float64(),
			[]string{"elm", "Ulmus rubra", "green ash", "oak"}[rng.IntN(4)], 5+40*rng.Float64(), []string{"alive", "dead", ""}[rng.IntN(3)])
	}
	s := TreeSource{CSV: write(t, "t.csv", b.String()), CRS: utm, BandwidthM: 40}
	want, notes := read(t, s, f)
	if len(want) != 3 {
		t.Fatalf("%d hosts, want 3", len(want))
	}
	some(t, notes, "convex hull of its 3000 records, grown by 20 m")
	for _, workers := range []int{1, 3} {
		scratch, err := raster.NewScratch(t.TempDir(), int64(workers-1)*300000)
		if err != nil {
			t.Fatal(err)
		}
		got, again, err := ReadTrees(context.Background(), s, woods(), f, scratch, workers)
		if err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(notes, again) {
			t.Errorf("%d workers: notes differ:\n%v\n%v", workers, notes, again)
		}
		for i := range want {
			if !slices.Equal(cellsOf(t, want[i].TreesHa), cellsOf(t, got[i].TreesHa)) || !slices.Equal(cellsOf(t, want[i].Weight), cellsOf(t, got[i].Weight)) || !slices.Equal(cellsOf(t, want[i].DeadShare), cellsOf(t, got[i].DeadShare)) {
				t.Errorf("%d workers, planes in files: host %d differs", workers, i)
			}
			if want[i].Cells != got[i].Cells || want[i].Records != got[i].Records {
				t.Errorf("%d workers: %d cells, %d records; want %d, %d", workers, got[i].Cells, got[i].Records, want[i].Cells, want[i].Records)
			}
		}
		Close(got)
		if err := scratch.Close(); err != nil {
			t.Fatal(err)
		}
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, _, err := ReadTrees(stopped, s, woods(), f, nil, 2); err == nil {
		t.Error("a run that was stopped: no error")
	}
}

func TestBlendOfMeasuredAndModelled(t *testing.T) {
	for _, c := range []struct {
		name   string
		weight uint8
		want   float64
	}{{"model alone", 0, 30}, {"measured alone", 250, 10}, {"half and half", 125, 20}} {
		if got := Trees(30, 10*TreesUnit, c.weight); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: %g trees, want %g", c.name, got, c.want)
		}
	}
	if got := Share(0.3, ShareProfile, 250); got != 0.3 {
		t.Errorf("the profile's share: %g, want 0.3", got)
	}
	if got := Share(0.3, 225, 125); math.Abs(got-0.6) > 1e-12 {
		t.Errorf("half of 0.9 and 0.3: %g, want 0.6", got)
	}
	if v, full := storeTrees(3000); v != math.MaxUint16 || !full {
		t.Errorf("3000 trees: stored %d, cut %v", v, full)
	}
}
