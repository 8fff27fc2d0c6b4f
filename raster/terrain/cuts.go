package terrain

import (
	"cmp"
	"context"
	"slices"

	"rillwood/raster"
)

// BreachRule says which hollows are cut through: a narrow dam (a road bank
// over a brook that no one mapped) is better cut at its foot than passed over
// at its lowest point, which may lie far along it. Only routing sees the cuts;
// no elevation changes.
type BreachRule struct {
	Depth float32     // metres that a hollow must be deep
	Limit BreachLimit // how far and how much may be cut
}

// cutCell is a cell lowered by a breach.
type cutCell struct {
	cell int64
	z    float32
}

// cut lowers the cells of a window that breaches go through.
func (s *Surface) cut(x, y, w, h int, dst []float32) {
	if len(s.cuts) == 0 {
		return
	}
	mapW, mapH := s.Z.Size()
	for r := max(0, -y); r < h && y+r < mapH; r++ {
		row := int64(y+r) * int64(mapW)
		first := row + int64(max(0, x))
		last := row + int64(min(mapW, x+w))
		i, _ := slices.BinarySearchFunc(s.cuts, first, func(c cutCell, at int64) int { return cmp.Compare(c.cell, at) })
		for ; i < len(s.cuts) && s.cuts[i].cell < last; i++ {
			dst[r*w+int(s.cuts[i].cell-row)-x] = s.cuts[i].z
		}
	}
}

// touched tells which tiles have a cut in their window of two cells around.
func (s *Surface) touched(tl raster.Tiling) []bool {
	mapW, mapH := s.Z.Size()
	out := make([]bool, tl.N())
	for _, c := range s.cuts {
		x, y := int(c.cell%int64(mapW)), int(c.cell/int64(mapW))
		for ny := max(y-2, 0); ny <= min(y+2, mapH-1); ny++ {
			for nx := max(x-2, 0); nx <= min(x+2, mapW-1); nx++ {
				out[tl.Of(nx, ny)] = true
			}
		}
	}
	return out
}

// breaches finds the cuts for the hollows of a routing: those deep enough, with
// no mapped stream around, whose breach lies within the limit and costs no
// more than filling. Each is found on the ground as it is, so that the order
// does not matter; where two cross, the lower cut counts.
func (s *Surface) breaches(ctx context.Context, g *spillGraph, o Options) (cuts []cutCell, n int64, err error) {
	w, _ := s.Z.Size()
	var pits []int64
	for i := range g.tiles {
		bt := &g.tiles[i]
		for k, l := range bt.pits {
			if g.level[g.base[i]+l]-bt.pitZ[k] >= s.Breach.Depth {
				pits = append(pits, bt.pitAt[k])
			}
		}
	}
	const batch = 64
	found := make([][]Breach, (len(pits)+batch-1)/batch)
	err = raster.Parallel(ctx, o.Workers, len(found), func(_, b int) error {
		for _, p := range pits[b*batch : min(len(pits), (b+1)*batch)] {
			x, y := int(p%int64(w)), int(p/int64(w))
			mapped, err := s.mappedAround(x, y, s.Breach.Limit.Steps+1)
			if err != nil {
				return err
			}
			if mapped {
				continue
			}
			r, err := FindRemedy(s.Z, x, y, s.Breach.Limit)
			if err != nil {
				return err
			}
			if r.Carve {
				found[b] = append(found[b], *r.Breach)
			}
		}
		return nil
	})
	if err != nil {
		return nil, 0, err
	}
	for _, bs := range found {
		for _, b := range bs {
			n++
			for k, c := range b.Cells {
				cuts = append(cuts, cutCell{c, b.Z[k]})
			}
		}
	}
	slices.SortFunc(cuts, func(a, b cutCell) int { return cmp.Or(cmp.Compare(a.cell, b.cell), cmp.Compare(a.z, b.z)) })
	cuts = slices.CompactFunc(cuts, func(a, b cutCell) bool { return a.cell == b.cell })
	return cuts, n, nil
}

// depthOfCuts sums the metres by which the cells are lowered.
func (s *Surface) depthOfCuts() (sum float64, err error) {
	w, _ := s.Z.Size()
	var z [1]float32
	for _, c := range s.cuts {
		if err := s.Z.Read(int(c.cell%int64(w)), int(c.cell/int64(w)), 1, 1, z[:]); err != nil {
			return 0, err
		}
		sum += float64(z[0]) - float64(c.z)
	}
	return sum, nil
}

// mappedAround tells whether a mapped stream leaves its mark within so many cells.
func (s *Surface) mappedAround(x, y, steps int) (bool, error) {
	if s.Burn == nil {
		return false, nil
	}
	side := 2*steps + 1
	marks := make([]uint8, side*side)
	if err := s.Burn.ReadPadded(x-steps, y-steps, side, side, marks, 0); err != nil {
		return false, err
	}
	return slices.ContainsFunc(marks, func(m uint8) bool { return m != 0 }), nil
}
