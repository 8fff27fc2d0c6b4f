package terrain

import (
	"container/heap"
	"context"
	"errors"
	"slices"
	"testing"

	"rillwood/raster"
)

func filled(t *testing.T, z *raster.Plane[float32], o Options) []float32 {
	t.Helper()
	p, err := Fill(t.Context(), z, o)
	if err != nil {
		t.Fatal(err)
	}
	return contents(t, p)
}

// The case's surface with a small rise per step (ε) has no counterpart here:
// routing opens hollows without raising anything, so no kernel makes one.
func TestFillPublishedGrid(t *testing.T) {
	var c struct {
		Input    grid `json:"input"`
		Expected grid `json:"expected_fill"`
	}
	published(t, "priority_flood", &c)
	w, _ := c.Input.size()
	compareCells(t, filled(t, c.Input.plane(), Options{Tile: 3}), c.Expected.cells(), w, 0)
}

// floodFill is the textbook way: a queue of cells by height from the edge
// inwards (Barnes, Lehman & Mulla 2014, algorithm 1).
func floodFill(g ground) []float32 {
	out := slices.Clone(g.z)
	seen := make([]bool, len(out))
	var queue reachQueue
	for i, v := range g.z {
		if v != v {
			seen[i] = true
		} else if g.beyond(i) {
			seen[i] = true
			heap.Push(&queue, reach{cost: float64(v), cell: int32(i)})
		}
	}
	for len(queue) > 0 {
		i := int(heap.Pop(&queue).(reach).cell)
		for d := range 8 {
			if j, ok := g.step(i, d); ok && !seen[j] {
				seen[j] = true
				out[j] = max(g.z[j], out[i])
				heap.Push(&queue, reach{cost: float64(out[j]), cell: int32(j)})
			}
		}
	}
	return out
}

func TestFillEqualsFloodingFromTheEdge(t *testing.T) {
	for seed := range 150 {
		g, rng := rough(seed)
		want := floodFill(g)
		for _, c := range cuts(t, rng) {
			got := filled(t, inScratch(t, g.w, g.h, g.z, c.o.Scratch), c.o)
			if i := sameBits(got, want); i >= 0 {
				t.Fatalf("seed %d, %s, tile %d, %d × %d, cell %d: got %v, want %v", seed, c.name, c.o.Tile, g.w, g.h, i, got[i], want[i])
			}
		}
	}
}

func TestFillRaisesOnlyAndOnce(t *testing.T) {
	for seed := range 100 {
		g, _ := rough(seed)
		once := filled(t, g.plane(), Options{Tile: 7})
		for i := range once {
			if once[i] < g.z[i] {
				t.Fatalf("seed %d cell %d: lowered from %v to %v", seed, i, g.z[i], once[i])
			}
		}
		twice := filled(t, raster.PlaneOf(g.w, g.h, once), Options{Tile: 7})
		if i := sameBits(once, twice); i >= 0 {
			t.Fatalf("seed %d cell %d: %v filled again gives %v", seed, i, once[i], twice[i])
		}
	}
}

// turned gives the surface turned by 90° clockwise, and mirrored gives it with
// east and west exchanged.
func (g ground) turned() ground {
	o := ground{w: g.h, h: g.w, z: make([]float32, len(g.z))}
	for y := range g.h {
		for x := range g.w {
			o.z[x*o.w+g.h-1-y] = g.z[y*g.w+x]
		}
	}
	return o
}

func (g ground) mirrored() ground {
	o := ground{w: g.w, h: g.h, z: slices.Clone(g.z)}
	for y := range g.h {
		slices.Reverse(o.z[y*g.w : (y+1)*g.w])
	}
	return o
}

func TestFillDoesNotDependOnTheCompass(t *testing.T) {
	for seed := range 60 {
		g, _ := rough(seed)
		fill := func(g ground) ground {
			return ground{g.w, g.h, filled(t, g.plane(), Options{Tile: 5})}
		}
		want := fill(g)
		turned, mirrored := g, g.mirrored()
		for range 4 {
			turned, want = turned.turned(), want.turned()
			if i := sameBits(fill(turned).z, want.z); i >= 0 {
				t.Fatalf("seed %d: turned, cell %d differs", seed, i)
			}
		}
		if i := sameBits(fill(mirrored).z, want.mirrored().z); i >= 0 {
			t.Fatalf("seed %d: mirrored, cell %d differs", seed, i)
		}
	}
}

func TestKernelsStopWhenCancelled(t *testing.T) {
	g, _ := rough(2)
	ctx, cancel := context.WithCancel(t.Context())
	r, a := routed(t, &Surface{Z: g.plane()}, Options{Tile: 8})
	cancel()
	_, fill := Fill(ctx, g.plane(), Options{Tile: 8})
	_, route := Route(ctx, &Surface{Z: g.plane()}, Options{Tile: 8})
	_, area := Accumulate(ctx, r, 1, nil, Options{Tile: 8})
	_, slope := Slope(ctx, g.plane(), 10, Options{Workers: 2})
	_, wet := Wetness(ctx, g.plane(), a, 10, Options{})
	_, flat := ValleyFlatness(ctx, g.plane(), 10, 3, Options{})
	_, links := Links(ctx, r, a, 3)
	heights := Heights(ctx, &Streams{Area: a, Sizes: []float64{0}}, r, g.plane(), Options{Tile: 8}, func(int, *View) error { return nil })
	for name, err := range map[string]error{"fill": fill, "route": route, "accumulate": area, "slope": slope, "wetness": wet, "valley flatness": flat, "links": links, "heights": heights} {
		if !errors.Is(err, context.Canceled) {
			t.Errorf("%s: got %v, want the context's error", name, err)
		}
	}
}
