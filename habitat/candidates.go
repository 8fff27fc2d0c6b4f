package habitat

import (
	"cmp"
	"math"
	"slices"

	"rillwood/habitat/access"
	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/raster/terrain"
)

// landKinds is the number of access statuses: patches never mix them.
const landKinds = int32(access.Closed) + 1

// candidates lists, as runs of the map's cells, the cells of a judged tile
// that may join a patch, grouped by the reach of stream they drain to, so that
// a ribbon along a river falls apart at its junctions. The cells that no patch may take in
// are listed too, but for tiles where none could.
func (c *cellJudge) candidates(v *terrain.View, g *ground, threshold float32) (runs, forbidden []region.Run, err error) {
	t := v.Tile
	if g.cover != nil {
		c.cover = c.cover[:0]
		c.cover = append(c.cover, make([]uint8, t.W*t.H)...)
		if err := g.cover.Read(t.X, t.Y, t.W, t.H, c.cover); err != nil {
			return nil, nil, err
		}
		for i, slot := range c.cover {
			if slot == NoClass && c.bottom[i] != storedNone {
				c.coverless++
			}
		}
	}
	if err := c.readLand(v, g); err != nil {
		return nil, nil, err
	}
	slot, table := NoClass, c.worth.tables
	c.reach = c.reach[:0]
	for range v.Bases {
		c.reach = append(c.reach, -2)
	}
	for y := range t.H {
		var last *region.Run
		if err := c.worth.load(t.X, t.Y+y, t.W); err != nil {
			return nil, nil, err
		}
		for x := range t.W {
			i := y*t.W + x
			if c.bottom[i] == storedNone {
				continue
			}
			if g.cover != nil {
				slot = c.cover[i]
			}
			z := v.Z[(y+1)*(t.W+2)+x+1]
			if !(c.worth.suitability(x, z, bottomStep(c.bottom[i]), slot) >= threshold) {
				continue
			}
			if len(c.keep) > 0 && c.keep[i] != 0 {
				c.kept[c.keep[i]]++
				continue
			}
			group := c.reachOf(v, g.network, i, x, y)
			if len(c.land) > 0 {
				group = (group+1)*landKinds + int32(c.land[i])
			}
			mx, my := int32(t.X+x), int32(t.Y+y)
			if last != nil && last.Y == my && last.X1 == mx && last.Group == group {
				last.X1++
				continue
			}
			runs = append(runs, region.Run{Y: my, X0: mx, X1: mx + 1, Group: group})
			last = &runs[len(runs)-1]
		}
	}
	if len(runs) == 0 && t.W*t.H >= g.minHole {
		return nil, nil, nil // no hole that is filled can take in all of the tile
	}
	for y := range t.H {
		var last *region.Run
		for x := range t.W {
			i := y*t.W + x
			if g.cover != nil {
				slot = c.cover[i]
			}
			kind := int32(-1)
			if c.bottom[i] != storedNone && table.any().cover[slot] > 0 && (len(c.keep) == 0 || c.keep[i] == 0) {
				if len(c.land) == 0 {
					continue
				}
				kind = int32(c.land[i])
			}
			mx, my := int32(t.X+x), int32(t.Y+y)
			if last != nil && last.Y == my && last.X1 == mx && last.Group == kind {
				last.X1++
				continue
			}
			forbidden = append(forbidden, region.Run{Y: my, X0: mx, X1: mx + 1, Group: kind})
			last = &forbidden[len(forbidden)-1]
		}
	}
	return runs, forbidden, nil
}

// readLand fetches who may enter a tile's cells, and where not to go.
func (c *cellJudge) readLand(v *terrain.View, g *ground) error {
	t := v.Tile
	n := t.W * t.H
	if g.access != nil {
		c.land = slices.Grow(c.land[:0], n)[:n]
		if err := g.access.Status.Read(t.X, t.Y, t.W, t.H, c.land); err != nil {
			return err
		}
	}
	if g.keepOut != nil {
		c.keep = slices.Grow(c.keep[:0], n)[:n]
		return g.keepOut.Plane.Read(t.X, t.Y, t.W, t.H, c.keep)
	}
	return nil
}

// reachOf gives the reach a cell drains to, or lies nearest to.
func (c *cellJudge) reachOf(v *terrain.View, n *Network, i, x, y int) int32 {
	b := v.Base[i]
	if v.Bases[b].Cell[0] < 0 {
		_, _, cell, _ := v.Across(0, x, y)
		return n.reachAt(cell)
	}
	if c.reach[b] == -2 {
		c.reach[b] = n.reachAt(v.Bases[b].Cell[0])
	}
	return c.reach[b]
}

// bottomStep turns stored bottomland into the step of the host table.
func bottomStep(q uint16) uint8 {
	if q == storedNone {
		return NoBottom
	}
	return uint8((uint32(q)*BottomSteps + bottomUnit/2) / bottomUnit)
}

// joinRuns brings the tiles' runs into the order of rows and joins those that
// tile edges cut.
func joinRuns(tiles [][]region.Run) []region.Run {
	n := 0
	for _, t := range tiles {
		n += len(t)
	}
	all := make([]region.Run, 0, n)
	for _, t := range tiles {
		all = append(all, t...)
	}
	slices.SortFunc(all, func(a, b region.Run) int {
		return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X0, b.X0))
	})
	out := all[:0]
	for _, r := range all {
		if k := len(out) - 1; k >= 0 && out[k].Y == r.Y && out[k].X1 == r.X0 && out[k].Group == r.Group {
			out[k].X1 = r.X1
			continue
		}
		out = append(out, r)
	}
	return out
}

// cellsOf is the number of cells that make up so many hectares.
func cellsOf(ha float64, f raster.Frame) int { return int(math.Round(ha / f.CellHa())) }
