package terrain

import (
	"slices"
	"testing"

	"rillwood/raster"
)

func TestFlatResolutionPublishedGrid(t *testing.T) {
	var c struct {
		Input   grid     `json:"input"`
		LowEdge [][2]int `json:"low_edge"`
		Away    grid     `json:"expected_away_from_higher"`
		Mask    grid     `json:"expected_flat_mask"`
		Outlet  [2]int   `json:"outlet"`
	}
	published(t, "flat_resolution", &c)
	w, h := c.Input.size()
	g := ground{w, h, c.Input.cells()}

	// One tile over the whole grid, as descend does it.
	z, dir := make([]float32, (w+4)*(h+4)), make([]uint8, (w+2)*(h+2))
	if err := g.plane().ReadPadded(-2, -2, w+4, h+4, z, nan); err != nil {
		t.Fatal(err)
	}
	d8(z, w+2, h+2, dir)
	at := func(y, x int) uint8 { return dir[(y+1)*(w+2)+x+1] }
	for _, e := range c.LowEdge {
		if d := at(e[0], e[1]); d > 7 {
			t.Errorf("low edge %v: direction %d, want a way down", e, d)
		}
	}
	var ff flatFinder
	if crossing := ff.resolve(z, dir, 0, 0, w, h, w); len(crossing) > 0 {
		t.Fatalf("%d cells of flats cross the edge of the only tile", len(crossing))
	}
	if want := 5*5 - len(c.LowEdge); len(ff.cells) != want {
		t.Fatalf("flat of %d cells, want %d", len(ff.cells), want)
	}
	away := ff.f.spread(func(i int) bool { return ff.f.high[i] })
	toward := ff.f.spread(func(i int) bool { return ff.f.low[i] >= 0 })
	for k, i := range ff.cells {
		y, x := int(i)/w, int(i)%w
		if want := int32(*c.Away[y][x]); away[k] != want {
			t.Errorf("row %d column %d: %d steps from higher ground, want %d", y, x, away[k], want)
		}
		// The paper counts the low edge itself as step 1 and adds the
		// flat's largest away, 3, to keep the mask positive.
		if got, want := 2*(toward[k]+1)+3-away[k], int32(*c.Mask[y][x]); got != want {
			t.Errorf("row %d column %d: mask %d, want %d", y, x, got, want)
		}
	}
	for y := 1; y < 6; y++ {
		for x := 1; x < 6; x++ {
			i := y*w + x
			for n := 0; i != c.Outlet[0]*w+c.Outlet[1]; n++ {
				d := at(i/w, i%w)
				if d > 7 || n > 25 {
					t.Fatalf("row %d column %d does not reach the outlet: direction %d after %d steps", y, x, d, n)
				}
				i, _ = g.step(i, int(d))
			}
		}
	}
}

// A lake of one level, far larger than the tiles, ringed by high ground but
// for one gap: its water must find the gap, the same way for all tilings.
func TestFlatsCrossTiles(t *testing.T) {
	const w, h = 41, 37
	z := slices.Repeat([]float32{5}, w*h)
	for i := range z {
		if x, y := i%w, i/w; x == 0 || y == 0 || x == w-1 || y == h-1 {
			z[i] = 9
		}
	}
	z[20*w+w-1] = 4 // the gap
	g := ground{w, h, z}
	var want []uint8
	for _, tile := range []int{0, 1, 2, 3, 5, 8, 13, 36} {
		r, err := Route(t.Context(), &Surface{Z: g.plane()}, Options{Tile: tile, Workers: 2})
		if err != nil {
			t.Fatal(err)
		}
		if tile != 0 && r.Stats.FlatEdge == 0 {
			t.Errorf("tile %d: no flat crosses tiles", tile)
		}
		if r.Stats.Pits != 0 {
			t.Errorf("tile %d: %d pits on a flat with an outlet", tile, r.Stats.Pits)
		}
		got := r.Dir.Mem()
		if want == nil {
			want = got
			for i := range got {
				if z[i] != 5 {
					continue
				}
				j := i
				for n := 0; z[j] == 5 && n < w*h; n++ {
					j, _ = g.step(j, int(got[j]))
				}
				if j != 20*w+w-1 {
					t.Fatalf("water of cell %d leaves the lake at cell %d", i, j)
				}
			}
		} else if !slices.Equal(got, want) {
			t.Errorf("tile %d: directions differ from those of the whole map", tile)
		}
	}
}

func TestClosedFlatHasOnePit(t *testing.T) {
	const w, h = 20, 20
	z := slices.Repeat([]float32{5}, w*h)
	for y := 6; y < 14; y++ {
		for x := 6; x < 14; x++ {
			z[y*w+x] = 1
		}
	}
	for _, tile := range []int{0, 4, 7} {
		r, err := Route(t.Context(), &Surface{Z: raster.PlaneOf(w, h, z)}, Options{Tile: tile})
		if err != nil {
			t.Fatal(err)
		}
		if r.Stats.Pits != 1 {
			t.Errorf("tile %d: %d pits, want 1", tile, r.Stats.Pits)
		}
	}
}
