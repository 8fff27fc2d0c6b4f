package terrain

import (
	"slices"
	"testing"

	"rillwood/raster"
)

// commonCode turns a direction into the common bit code, 0 for Out and Pit.
func commonCode(d uint8) float64 {
	if d > 7 {
		return 0
	}
	return float64(int(1) << d)
}

func TestRoutePublishedGrid(t *testing.T) {
	var c struct {
		Input grid `json:"input"`
		Dir   grid `json:"expected_dir"`
		Accum grid `json:"expected_accum_excluding_self"`
	}
	published(t, "d8_jenson_domingue", &c)
	w, _ := c.Input.size()
	for _, o := range []Options{{}, {Tile: 2, Workers: 2}} {
		r, a := routed(t, &Surface{Z: c.Input.plane()}, o)
		var dir, above []float32
		for i, d := range r.Dir.Mem() {
			dir = append(dir, float32(commonCode(d)))
			above = append(above, a.Mem()[i]-1)
		}
		compareCells(t, dir, c.Dir.cells(), w, 0)
		compareCells(t, above, c.Accum.cells(), w, 0)
	}
}

func TestEveryCellDrainsOffTheMap(t *testing.T) {
	for seed := range 150 {
		g, rng := rough(seed)
		for _, c := range cuts(t, rng) {
			r, err := Route(t.Context(), &Surface{Z: inScratch(t, g.w, g.h, g.z, c.o.Scratch)}, c.o)
			if err != nil {
				t.Fatal(err)
			}
			dir := contents(t, r.Dir)
			for i := range dir {
				if g.z[i] != g.z[i] {
					if dir[i] != NoData {
						t.Fatalf("seed %d cell %d: no ground, direction %d", seed, i, dir[i])
					}
					continue
				}
				j, n := i, 0
				for ; dir[j] < 8 && n <= len(dir); n++ {
					j, _ = g.step(j, int(dir[j]))
				}
				if dir[j] != Out || !g.beyond(j) {
					t.Fatalf("seed %d, %s, tile %d: water of cell %d is at %d after %d steps, direction %d", seed, c.name, c.o.Tile, i, j, n, dir[j])
				}
			}
		}
	}
}

// The way of the water never rises above the level to which filling would
// raise the cell: hollows are left by their lowest pass.
func TestHollowsAreLeftByTheLowestPass(t *testing.T) {
	for seed := range 150 {
		g, _ := rough(seed)
		level := floodFill(g)
		r, err := Route(t.Context(), &Surface{Z: g.plane()}, Options{Tile: 6})
		if err != nil {
			t.Fatal(err)
		}
		dir := r.Dir.Mem()
		for i := range dir {
			for j := i; dir[j] < 8; {
				j, _ = g.step(j, int(dir[j]))
				if g.z[j] > level[i] {
					t.Fatalf("seed %d: water of cell %d (level %v) climbs to %v at cell %d", seed, i, level[i], g.z[j], j)
				}
			}
		}
	}
}

func TestRouteDoesNotDependOnTiles(t *testing.T) {
	for seed := range 150 {
		g, rng := rough(seed)
		burn := make([]uint8, len(g.z))
		for range rng.IntN(12) {
			burn[rng.IntN(len(burn))] = Channel
		}
		var want []uint8
		for _, c := range cuts(t, rng) {
			s := &Surface{Z: inScratch(t, g.w, g.h, g.z, c.o.Scratch), Burn: inScratch(t, g.w, g.h, burn, c.o.Scratch), Drop: StreamDrops(2, 3)}
			r, err := Route(t.Context(), s, c.o)
			if err != nil {
				t.Fatal(err)
			}
			got := contents(t, r.Dir)
			if want == nil {
				want = got
			} else if !slices.Equal(got, want) {
				t.Fatalf("seed %d, %s, tile %d: directions differ from those of the whole map", seed, c.name, c.o.Tile)
			}
		}
	}
}

func TestRouteCountsCellsAndPits(t *testing.T) {
	g := ground{w: 5, h: 5, z: slices.Repeat([]float32{5}, 25)}
	g.z[12], g.z[0] = 1, nan
	r, err := Route(t.Context(), &Surface{Z: g.plane()}, Options{Tile: 2})
	if err != nil {
		t.Fatal(err)
	}
	if r.Stats.Cells != 24 || r.Stats.Pits != 1 {
		t.Errorf("got %d cells and %d pits, want 24 and 1", r.Stats.Cells, r.Stats.Pits)
	}
}

func TestPerimeterNumbersEachRimCellOnce(t *testing.T) {
	for w := 1; w < 6; w++ {
		for h := 1; h < 6; h++ {
			p := perimeter{w, h}
			seen := map[int]bool{}
			p.each(func(i, x, y int) {
				if cx, cy := p.cell(i); p.at(x, y) != i || cx != x || cy != y {
					t.Errorf("%d × %d: cell %d,%d has number %d, which is cell %d,%d", w, h, x, y, i, cx, cy)
				}
				if seen[i] || i < 0 || i >= p.n() {
					t.Errorf("%d × %d: number %d of %d twice or out of range", w, h, i, p.n())
				}
				seen[i] = true
			})
			rim := w*h - max(w-2, 0)*max(h-2, 0)
			if len(seen) != rim {
				t.Errorf("%d × %d: %d rim cells, want %d", w, h, len(seen), rim)
			}
		}
	}
}

func TestRouteOnAPlaneFollowsTheSlope(t *testing.T) {
	const w, h = 30, 20
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(100 - 2*(i%w) - 2*(i/w))
	}
	r, err := Route(t.Context(), &Surface{Z: raster.PlaneOf(w, h, z)}, Options{Tile: 7})
	if err != nil {
		t.Fatal(err)
	}
	for y := range h - 1 {
		for x := range w - 1 {
			if d := r.Dir.Mem()[y*w+x]; d != 1 {
				t.Fatalf("cell %d,%d: direction %d, want south-east (1)", x, y, d)
			}
		}
	}
}
