package terrain

import (
	"testing"

	"rillwood/raster"
)

// A level lake across many tiles, with one way out: what a levelled water body
// of a county looks like.
func BenchmarkLevelLake(b *testing.B) {
	const side = 2000
	z := make([]float32, side*side)
	for i := range z {
		x, y := i%side, i/side
		z[i] = 100
		if x == 0 || y == 0 || x == side-1 || y == side-1 {
			z[i] = 101
		}
	}
	z[side/2] = 99 // the way out, in the north
	for b.Loop() {
		r, err := Route(b.Context(), &Surface{Z: raster.PlaneOf(side, side, z)}, Options{Tile: 512, Workers: 2})
		if err != nil {
			b.Fatal(err)
		}
		if r.Stats.FlatEdge < side*side/2 {
			b.Fatalf("%d cells of level ground cross tiles: the case shows nothing", r.Stats.FlatEdge)
		}
		r.Dir.Close()
	}
}
