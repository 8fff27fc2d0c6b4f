package terrain

import (
	"context"

	"rillwood/raster"
)

// Fill raises every hollow to the level of its lowest pass: the smallest
// surface above z from which water leaves the map everywhere. The result is
// the minimax over all ways to the edge and so the same, cell by cell, as
// priority-flood's: Barnes R., Lehman C., Mulla D. (2014) Priority-flood,
// Computers & Geosciences 62:117–127. It is found through the graph of basins:
// a cell stands at the higher of its own height and its basin's level.
func Fill(ctx context.Context, z *raster.Plane[float32], o Options) (*raster.Plane[float32], error) {
	w, h := z.Size()
	s := &Surface{Z: z}
	dir, err := raster.NewPlane[uint8](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	defer dir.Close()
	r := &Routing{Dir: dir, Tiles: raster.NewTiling(w, h, o.Tile)}
	p := &passage{surface: s, crossing: make([][]flatCell, r.Tiles.N()), graph: &spillGraph{tiles: make([]basinTile, r.Tiles.N())}}
	if err := r.descend(ctx, p, o); err != nil {
		return nil, err
	}
	if err := r.findBasins(ctx, p, o); err != nil {
		return nil, err
	}
	g := p.graph
	out, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	type buffers struct {
		z   []float32
		dir []uint8
		bf  basinFinder
	}
	bufs := make([]buffers, max(1, o.Workers))
	err = r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		b := &bufs[worker]
		b.z, b.dir = grown(b.z, t.W*t.H), grown(b.dir, t.W*t.H)
		if err := z.Read(t.X, t.Y, t.W, t.H, b.z); err != nil {
			return err
		}
		if err := dir.Read(t.X, t.Y, t.W, t.H, b.dir); err != nil {
			return err
		}
		// The labels come out as in findBasins: same cells, same order.
		var bt basinTile
		b.bf.labelCells(b.dir, t, w, &bt)
		base := g.base[t.Index]
		for i, l := range b.bf.label {
			if l > 0 {
				if root := g.root[base+l]; root != outside {
					b.z[i] = max(b.z[i], g.level[root])
				}
			}
		}
		return out.Write(t.X, t.Y, t.W, t.H, b.z)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}
