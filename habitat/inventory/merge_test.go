package inventory

import (
	"context"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rillwood/raster"
)

func measured(host, w int, from string, trees []uint16, share, weight []uint8) Measured {
	m := Measured{Host: host, From: from, Records: 3, TreesHa: raster.PlaneOf(w, len(trees)/w, trees), Weight: raster.PlaneOf(w, len(trees)/w, weight)}
	if share != nil {
		m.DeadShare = raster.PlaneOf(w, len(trees)/w, share)
	}
	return m
}

func TestMergeByHand(t *testing.T) {
	const own = ShareProfile
	first := measured(1, 6, "plots.csv", []uint16{1, 2, 3, 4, 5, 6}, []uint8{90, 90, 90, own, 90, own}, []uint8{250, 250, 100, 100, 0, 250})
	later := measured(1, 6, "map.tif", []uint16{11, 12, 13, 14, 15, 16}, []uint8{own, 70, 70, 70, own, 70}, []uint8{250, 200, 250, 100, 50, 10})
	other := measured(0, 6, "map.tif", []uint16{7, 7, 7, 7, 7, 7}, nil, []uint8{1, 1, 1, 1, 1, 0})
	out, notes, err := Merge(context.Background(), woods(), []Measured{first, later, other}, nil, 2)
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 2 || out[0].Host != 0 || out[1].Host != 1 {
		t.Fatalf("hosts %v", out)
	}
	m := out[1]
	// A tie goes to the later; the dead share of the other stays where the chosen has none.
	if got, want := cellsOf(t, m.TreesHa), []uint16{11, 2, 13, 14, 15, 6}; !slices.Equal(got, want) {
		t.Errorf("trees %v, want %v", got, want)
	}
	if got, want := cellsOf(t, m.Weight), []uint8{250, 250, 250, 100, 50, 250}; !slices.Equal(got, want) {
		t.Errorf("weights %v, want %v", got, want)
	}
	if got, want := cellsOf(t, m.DeadShare), []uint8{90, 90, 70, 70, own, 70}; !slices.Equal(got, want) {
		t.Errorf("dead shares %v, want %v", got, want)
	}
	if m.Cells != 6 || m.Records != 6 || m.From != "plots.csv; map.tif" {
		t.Errorf("%d cells, %d records, from %q", m.Cells, m.Records, m.From)
	}
	some(t, notes, "slippery elm: measured by plots.csv and by map.tif", "4 cells are of the later")
	if got := cellsOf(t, out[0].TreesHa); got[0] != 7 {
		t.Errorf("a host measured once: %v", got)
	}
}

// Three sources of one host against each cell's own rule, in files with several
// workers, where hosts share a weight plane.
func TestMergeManyAgainstPlainRule(t *testing.T) {
	const w, h = 50, 170
	rng := rand.New(rand.NewPCG(6, 1))
	var all []Measured
	for range 3 {
		trees, weight := make([]uint16, w*h), make([]uint8, w*h)
		for i := range trees {
			trees[i], weight[i] = uint16(rng.IntN(1000)), uint8(50*rng.IntN(4))
		}
		m := measured(0, w, "a", trees, nil, weight)
		twin := measured(2, w, "b", slices.Clone(trees), nil, weight)
		twin.Weight = m.Weight
		all = append(all, m, twin)
	}
	want := make([]uint16, w*h)
	for i := range want {
		best := uint8(0)
		for s := 0; s < len(all); s += 2 {
			if v := all[s].Weight.Mem()[i]; s == 0 || v > 0 && v >= best {
				best, want[i] = v, all[s].TreesHa.Mem()[i]
			}
		}
	}
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer scratch.Close()
	out, _, err := Merge(context.Background(), woods(), all, scratch, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range out {
		if m.DeadShare != nil || !slices.Equal(cellsOf(t, m.TreesHa), want) {
			t.Errorf("host %d differs from the plain rule", m.Host)
		}
	}
	// Each of the two hosts keeps its trees and its weight, and nothing else.
	if left := scratch.Files(); left != 4 {
		t.Errorf("%d planes left in files, want 4", left)
	}
	for i, m := range all {
		if m.Weight.Mem() != nil || m.TreesHa.Mem() != nil {
			t.Errorf("source %d: planes that are no longer needed are open", i)
		}
	}
}

func TestMergeRefusesOtherFrames(t *testing.T) {
	a := measured(0, 2, "a", make([]uint16, 4), nil, make([]uint8, 4))
	b := measured(0, 2, "b", make([]uint16, 6), nil, make([]uint8, 6))
	_, _, err := Merge(context.Background(), woods(), []Measured{a, b}, nil, 1)
	if err == nil || !strings.Contains(err.Error(), "read both for one frame") {
		t.Errorf("got %v", err)
	}
	if out, notes, err := Merge(context.Background(), woods(), nil, nil, 1); len(out)+len(notes) != 0 || err != nil {
		t.Errorf("nothing to join: %v, %v, %v", out, notes, err)
	}
}
