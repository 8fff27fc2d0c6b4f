package terrain

import (
	"testing"

	"rillwood/raster"
)

// Whatever the ground and however it is cut into tiles: the same directions,
// drainage and heights, bit by bit.
func FuzzTiles(f *testing.F) {
	f.Add(uint8(9), uint8(3), uint8(2), []byte("water finds its way down"))
	f.Add(uint8(1), uint8(1), uint8(1), []byte{0})
	f.Add(uint8(30), uint8(7), uint8(1), []byte{5, 5, 5, 5, 0, 255, 5, 5, 128})
	f.Add(uint8(17), uint8(16), uint8(3), []byte{1, 2, 3, 2, 1, 0, 1, 2, 3, 4, 3, 2})
	f.Add(uint8(24), uint8(5), uint8(2), []byte{0, 0, 0, 0, 0, 0, 0, 9, 0, 0, 0, 0, 0, 255})
	f.Fuzz(func(t *testing.T, wide, tile, workers uint8, heights []byte) {
		w := 1 + int(wide)%40
		if len(heights) == 0 || len(heights) > 1600 {
			return
		}
		h := (len(heights) + w - 1) / w
		z := make([]float32, w*h)
		for i := range z {
			// 255 is no ground; the rest are steps of a quarter metre, so that
			// level ground and hollows are common.
			b := heights[i%len(heights)]
			z[i] = float32(b) / 4
			if b == 255 {
				z[i] = nan
			}
		}
		work := func(o Options) ([]uint8, []float32) {
			s := &Surface{Z: raster.PlaneOf(w, h, append([]float32{}, z...)), Breach: &BreachRule{Depth: 1, Limit: BreachLimit{Steps: 3, Cost: 12}}}
			r, err := Route(t.Context(), s, o)
			if err != nil {
				t.Fatal(err)
			}
			area, err := Accumulate(t.Context(), r, 1e-4, nil, o)
			if err != nil {
				t.Fatal(err)
			}
			return r.Dir.Mem(), area.Mem()
		}
		dir, area := work(Options{Tile: 4096, Workers: 1})
		cut, parts := work(Options{Tile: 1 + int(tile)%24, Workers: 1 + int(workers)%4})
		for i := range dir {
			if dir[i] != cut[i] {
				t.Fatalf("%d × %d cells, tiles of %d: cell %d drains to %d, in one tile to %d", w, h, 1+int(tile)%24, i, cut[i], dir[i])
			}
		}
		if i := sameBits(area, parts); i >= 0 {
			t.Fatalf("%d × %d cells, tiles of %d: cell %d drains %v km², in one tile %v", w, h, 1+int(tile)%24, i, parts[i], area[i])
		}
	})
}
