package terrain

import (
	"context"
	"slices"
	"testing"
)

// A road bank with a level crest dams a brook that no one mapped. Its lowest
// passes are all alike, so water left to them runs along the bank to the first
// of them; cut through at its foot, it goes straight on.
func TestNarrowDamIsCutAtItsFoot(t *testing.T) {
	const w, h, road = 80, 31, 50
	g := valley(w, h, road)
	before := slices.Clone(g.z)
	rule := &BreachRule{Depth: 1, Limit: BreachLimit{Steps: 6, Cost: 24}}
	below := h/2*w + road + 3
	for _, o := range []Options{{}, {Tile: 9, Workers: 2}} {
		r, a := routed(t, &Surface{Z: g.plane(), Breach: rule}, o)
		if got, want := a.Mem()[below], float32(road*h)*0.9; got < want {
			t.Errorf("tile %d: %v cells come through the bank at its foot, want more than %v", o.Tile, got, want)
		}
		if r.Stats.Breached != 1 {
			t.Errorf("tile %d: %d hollows cut through, want 1", o.Tile, r.Stats.Breached)
		}
		// Two cells of crest at 106 m, the ground about 97.5 m: by hand.
		if r.Stats.CutM < 16 || r.Stats.CutM > 19 {
			t.Errorf("tile %d: %.2f m cut, want 16 to 19", o.Tile, r.Stats.CutM)
		}
	}
	if !slices.Equal(g.z, before) {
		t.Error("elevations changed")
	}

	_, a := routed(t, &Surface{Z: g.plane()}, Options{})
	if got := a.Mem()[below]; got > float32(road*h)/2 {
		t.Errorf("without the rule %v cells come through at the foot: the case shows nothing", got)
	}
	wide := *rule
	wide.Limit.Steps = 2
	if r, _ := routed(t, &Surface{Z: g.plane(), Breach: &wide}, Options{}); r.Stats.Breached != 0 {
		t.Error("a bank wider than the limit was cut")
	}
	dear := *rule
	dear.Limit.Cost = 10
	if r, _ := routed(t, &Surface{Z: g.plane(), Breach: &dear}, Options{}); r.Stats.Breached != 0 {
		t.Error("a bank dearer than the limit was cut")
	}
	burn := burnt(t, g, along(w, h/2), 3)
	if r, _ := routed(t, &Surface{Z: g.plane(), Burn: burn, Drop: StreamDrops(3, 2), Breach: rule}, Options{}); r.Stats.Breached != 0 {
		t.Error("a hollow beside a mapped stream was cut")
	}
}

// With cuts as without, every cell drains and tiles do not matter.
func TestCutsDoNotDependOnTiles(t *testing.T) {
	rule := &BreachRule{Depth: 0.5, Limit: BreachLimit{Steps: 5, Cost: 20}}
	cutSomewhere := false
	for seed := range 150 {
		g, rng := rough(seed)
		var want []uint8
		var stats RouteStats
		for _, c := range cuts(t, rng) {
			r, err := Route(context.Background(), &Surface{Z: g.plane(), Breach: rule}, c.o)
			if err != nil {
				t.Fatal(err)
			}
			dir := contents(t, r.Dir)
			r.Dir.Close()
			for i := range dir {
				j := i
				for n := 0; dir[j] < 8; n++ {
					if j += dy[dir[j]]*g.w + dx[dir[j]]; n > len(dir) {
						t.Fatalf("seed %d, %v: water goes round from cell %d", seed, c.o.Tile, i)
					}
				}
				if dir[i] != NoData && dir[j] != Out {
					t.Fatalf("seed %d: cell %d does not drain", seed, i)
				}
			}
			if want == nil {
				want, stats = dir, r.Stats
				cutSomewhere = cutSomewhere || stats.CutCells > 0
				continue
			}
			if !slices.Equal(dir, want) {
				t.Fatalf("seed %d: tile %d differs from the whole map", seed, c.o.Tile)
			}
			if r.Stats.Breached != stats.Breached || r.Stats.CutCells != stats.CutCells {
				t.Errorf("seed %d: tile %d cuts %d cells of %d hollows, the whole map %d of %d", seed, c.o.Tile, r.Stats.CutCells, r.Stats.Breached, stats.CutCells, stats.Breached)
			}
		}
	}
	if !cutSomewhere {
		t.Error("no ground had a hollow worth cutting: the case shows nothing")
	}
}
