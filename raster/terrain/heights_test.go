package terrain

import (
	"math"
	"slices"
	"sync"
	"testing"

	"rillwood/raster"
)

// measured is what Heights tells of each cell, for every size.
type measured struct {
	cell    [][]int64
	z, area [][]float32
	stream  []bool
	present []bool
	across  []int64 // nearest stream of the first size over land
	dist    []float64
}

func measure(t *testing.T, g ground, st *Streams, r *Routing, o Options) *measured {
	t.Helper()
	n := len(g.z)
	m := &measured{stream: make([]bool, n), across: make([]int64, n), dist: make([]float64, n)}
	for range st.Sizes {
		m.cell = append(m.cell, make([]int64, n))
		m.z, m.area = append(m.z, make([]float32, n)), append(m.area, make([]float32, n))
	}
	var mu sync.Mutex
	z := inScratch(t, g.w, g.h, g.z, o.Scratch)
	err := Heights(t.Context(), st, r, z, o, func(_ int, v *View) error {
		mu.Lock()
		defer mu.Unlock()
		m.present = slices.Clone(v.Present())
		for i := range v.Tile.W * v.Tile.H {
			x, y := i%v.Tile.W, i/v.Tile.W
			at := (v.Tile.Y+y)*g.w + v.Tile.X + x
			b := v.Bases[v.Base[i]]
			for s := range st.Sizes {
				m.cell[s][at], m.z[s][at], m.area[s][at] = b.Cell[s], b.Z[s], b.Area[s]
			}
			m.stream[at] = v.Stream[i]
			_, _, m.across[at], m.dist[at] = v.Across(0, x, y)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestHeightPublishedGrid(t *testing.T) {
	var c struct {
		Input    grid `json:"input"`
		Stream   grid `json:"stream"`
		Expected grid `json:"expected_hand"`
	}
	published(t, "hand_d8", &c)
	w, h := c.Input.size()
	g := ground{w, h, c.Input.cells()}
	for _, o := range []Options{{}, {Tile: 2, Workers: 2}} {
		r, a := routed(t, &Surface{Z: g.plane()}, o)
		// The case counts the cells above, this count has the cell itself.
		m := measure(t, g, &Streams{Area: a, Threshold: 5 + 1, Sizes: []float64{0}}, r, o)
		got := make([]float32, len(g.z))
		for i, z := range g.z {
			got[i] = z - m.z[0][i]
			if want := *c.Stream[i/w][i%w] == 1; m.stream[i] != want {
				t.Errorf("row %d column %d: stream %v, want %v", i/w, i%w, m.stream[i], want)
			}
		}
		compareCells(t, got, c.Expected.cells(), w, 1e-9)
	}
}

func TestHeightsFollowTheWater(t *testing.T) {
	sizes := []float64{0, 8, 15, 40}
	for seed := range 100 {
		g, rng := rough(seed)
		r, a := routed(t, &Surface{Z: g.plane()}, Options{})
		dir, area := slices.Clone(r.Dir.Mem()), slices.Clone(a.Mem())
		for _, c := range cuts(t, rng) {
			rc := &Routing{Dir: inScratch(t, g.w, g.h, dir, c.o.Scratch), Tiles: raster.NewTiling(g.w, g.h, c.o.Tile)}
			st := &Streams{Area: inScratch(t, g.w, g.h, area, c.o.Scratch), Threshold: 4, Sizes: sizes}
			m := measure(t, g, st, rc, c.o)
			for i := range dir {
				for s, size := range sizes {
					want := int64(-1)
					if dir[i] != NoData {
						for _, j := range g.follow(dir, i) {
							if float64(area[j]) >= max(4, size) {
								want = int64(j)
								break
							}
						}
					}
					if m.cell[s][i] != want {
						t.Fatalf("seed %d, %s, tile %d, cell %d, size %v: got cell %d, want %d", seed, c.name, c.o.Tile, i, size, m.cell[s][i], want)
					}
					if want >= 0 && (m.z[s][i] != g.z[want] || m.area[s][i] != area[want]) {
						t.Fatalf("seed %d cell %d size %v: %v m and %v km² told of cell %d, which has %v and %v", seed, i, size, m.z[s][i], m.area[s][i], want, g.z[want], area[want])
					}
				}
			}
		}
	}
}

// On the surface that water was routed over, where no hollow is left, a
// stream is never above the ground that drains to it.
func TestHeightsAreNotNegativeOnAFilledSurface(t *testing.T) {
	for seed := range 100 {
		g, _ := rough(seed)
		g.z = floodFill(g)
		o := Options{Tile: 7, Workers: 2}
		r, a := routed(t, &Surface{Z: g.plane()}, o)
		m := measure(t, g, &Streams{Area: a, Threshold: 6, Sizes: []float64{0}}, r, o)
		for i, z := range g.z {
			if m.cell[0][i] < 0 {
				continue
			}
			h := z - m.z[0][i]
			if h < 0 || m.stream[i] && h != 0 {
				t.Fatalf("seed %d cell %d, stream %v: height %v", seed, i, m.stream[i], h)
			}
		}
	}
}

func TestAcrossFindsAStreamAlmostAsNearAsTheNearest(t *testing.T) {
	for seed := range 60 {
		g, rng := rough(seed)
		r, a := routed(t, &Surface{Z: g.plane()}, Options{})
		st := &Streams{Area: a, Threshold: 10, Sizes: []float64{0}}
		want := measure(t, g, st, r, Options{})
		var streams []int
		for i, s := range want.stream {
			if s {
				streams = append(streams, i)
			}
		}
		if (len(streams) > 0) != want.present[0] {
			t.Fatalf("seed %d: %d streams, told present %v", seed, len(streams), want.present[0])
		}
		for i := range g.z {
			if len(streams) == 0 {
				if want.across[i] != -1 || !math.IsInf(want.dist[i], 1) {
					t.Fatalf("seed %d cell %d: stream %d found on a map without any", seed, i, want.across[i])
				}
				continue
			}
			nearest := math.Inf(1)
			for _, s := range streams {
				nearest = min(nearest, math.Hypot(float64(s%g.w-i%g.w), float64(s/g.w-i/g.w)))
			}
			at := int(want.across[i])
			if !want.stream[at] {
				t.Fatalf("seed %d cell %d: cell %d is no stream", seed, i, at)
			}
			if d := math.Hypot(float64(at%g.w-i%g.w), float64(at/g.w-i/g.w)); !near(want.dist[i], d, 1e-9) {
				t.Fatalf("seed %d cell %d: distance %v, want %v", seed, i, want.dist[i], d)
			}
			// One stream cell stands for each block of 16 × 16.
			if most := nearest + 2*blockSide*math.Sqrt2; want.dist[i] > most {
				t.Fatalf("seed %d cell %d: %v cells to a stream, the nearest is at %v", seed, i, want.dist[i], nearest)
			}
		}
		tile := 1 + rng.IntN(20)
		r.Tiles = raster.NewTiling(g.w, g.h, tile)
		got := measure(t, g, st, r, Options{Tile: tile, Workers: 2})
		if !slices.Equal(got.across, want.across) {
			t.Fatalf("seed %d: nearest streams over land differ with tile %d", seed, tile)
		}
	}
}
