package terrain

import (
	"math"
	"slices"

	"rillwood/raster"
)

// Surface is the ground that water is routed over: the elevation (m, NaN where
// there is none), lowered along mapped streams when Burn is given. Heights are
// always measured on Z; the lowering steers water and nothing else.
type Surface struct {
	Z    *raster.Plane[float32]
	Burn *raster.Plane[uint8] // burn class of each cell, 0 = untouched; nil = no mapped streams
	Drop [256]float32         // metres by which a class is lowered
	// Breach says when a hollow far from mapped streams is cut through instead
	// of left over its lowest pass; nil = never.
	Breach *BreachRule

	cuts []cutCell // cells lowered by breaches, in row-major order
}

// Burn classes of cells on a mapped stream. Where a stream comes in from
// outside the map its first cells are an Entrance: it lies higher than the
// trench of the Channel, so that water which finds the bed rising further down
// passes that rise and does not leave the map backwards, the inflow with it.
const (
	Channel  = 255
	Entrance = 1
)

func onStream(class uint8) bool { return class == Channel || class == Entrance }

// StreamDrops fills Drop for mapped streams: the cells of the line fall
// into a trench that no ground can dam, and the ground beside it, out to reach
// cells, leans towards it by up to lean metres so that a valley line running
// beside a mapped one joins it.
// Source of the method: Hellweger F. (1997), surface reconditioning by a
// buffer along mapped streams (AGREE); from memory.
func StreamDrops(reach int, lean float32) (drop [256]float32) {
	drop[Channel], drop[Entrance] = 2000, 1000
	for c := 1; c <= reach && c < Channel-Entrance; c++ {
		// Class Channel−k is k cells away from the line.
		drop[Channel-c] = lean * float32(reach+1-c) / float32(reach+1)
	}
	return drop
}

// BurnStreams marks the cells of mapped streams (row-major indices, ascending)
// in burn as Channel, and the cells within reach of them by their distance,
// rounded up to cells. Cells marked higher already stay as they are.
func BurnStreams(burn *raster.Plane[uint8], cells []int, reach int) error {
	w, h := burn.Size()
	type stamp struct {
		dx, dy int
		class  uint8
	}
	var stamps []stamp
	for y := -reach; y <= reach; y++ {
		for x := -reach; x <= reach; x++ {
			if d := math.Ceil(math.Hypot(float64(x), float64(y)) - 1e-9); d <= float64(reach) {
				stamps = append(stamps, stamp{x, y, uint8(Channel - int(d))})
			}
		}
	}
	const band = 256
	rows := make([]uint8, w*band)
	for y0 := 0; y0 < h; y0 += band {
		n := min(band, h-y0)
		first, _ := slices.BinarySearch(cells, max(0, y0-reach)*w)
		last, _ := slices.BinarySearch(cells, min(h, y0+n+reach)*w)
		if first == last {
			continue
		}
		if err := burn.Read(0, y0, w, n, rows); err != nil {
			return err
		}
		for _, i := range cells[first:last] {
			cx, cy := i%w, i/w-y0
			for _, s := range stamps {
				x, y := cx+s.dx, cy+s.dy
				if x < 0 || y < 0 || x >= w || y >= n {
					continue
				}
				if j := y*w + x; rows[j] < s.class {
					rows[j] = s.class
				}
			}
		}
		if err := burn.Write(0, y0, w, n, rows); err != nil {
			return err
		}
	}
	return nil
}

// BurnEntrances marks the cells by which mapped streams come in over the map's
// edge, after BurnStreams: all from the first up to where the line is no
// longer beside missing ground.
func BurnEntrances(burn *raster.Plane[uint8], cells []int) error {
	w, _ := burn.Size()
	for _, i := range cells {
		if err := burn.Write(i%w, i/w, 1, 1, []uint8{Entrance}); err != nil {
			return err
		}
	}
	return nil
}

// read fills dst with the routing surface of a window that may stick out of
// the map; outside is NaN. tmp needs w*h cells when Burn is set.
func (s *Surface) read(x, y, w, h int, dst []float32, tmp []uint8) error {
	if err := s.Z.ReadPadded(x, y, w, h, dst, float32(math.NaN())); err != nil {
		return err
	}
	s.cut(x, y, w, h, dst)
	if s.Burn == nil {
		return nil
	}
	if err := s.Burn.ReadPadded(x, y, w, h, tmp, 0); err != nil {
		return err
	}
	for i, c := range tmp[:w*h] {
		if c != 0 {
			dst[i] -= s.Drop[c]
		}
	}
	return nil
}
