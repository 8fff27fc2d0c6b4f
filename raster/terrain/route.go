package terrain

import (
	"context"
	"slices"
	"sync/atomic"

	"rillwood/raster"
)

// Routing is where water goes from every cell of a map.
type Routing struct {
	// Dir holds for each cell the neighbour it drains to (0 … 7), Out or NoData.
	// No cell is a Pit: each has a way off the map.
	Dir   *raster.Plane[uint8]
	Tiles raster.Tiling
	Stats RouteStats
}

// RouteStats counts what routing met.
type RouteStats struct {
	Cells    int64   // with elevation
	Pits     int64   // closed hollows opened
	Breached int64   // of these, cut through at their foot
	CutCells int64   // cells lowered for that, in the routing only
	CutM     float64 // metres by which, summed over the cells
	FlatEdge int64   // cells of level ground that crosses tile edges
}

// Route finds where water goes from every cell. Water takes the steepest way
// down; out of a hollow it takes the lowest pass, the way from the hollow's
// bottom to the pass being turned round, so that no hollow is filled and no
// elevation changes.
func Route(ctx context.Context, s *Surface, o Options) (*Routing, error) {
	w, h := s.Z.Size()
	tl := raster.NewTiling(w, h, o.Tile)
	dir, err := raster.NewPlane[uint8](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	r := &Routing{Dir: dir, Tiles: tl}
	if err := r.route(ctx, s, o); err != nil {
		dir.Close()
		return nil, err
	}
	return r, nil
}

func (r *Routing) route(ctx context.Context, s *Surface, o Options) error {
	p := &passage{surface: s, crossing: make([][]flatCell, r.Tiles.N()), graph: &spillGraph{tiles: make([]basinTile, r.Tiles.N())}}
	if err := r.descend(ctx, p, o); err != nil {
		return err
	}
	if err := r.findBasins(ctx, p, o); err != nil {
		return err
	}
	if s.Breach != nil {
		cuts, n, err := s.breaches(ctx, p.graph, o)
		if err != nil {
			return err
		}
		if len(cuts) > 0 {
			lowered := *s
			lowered.cuts = cuts
			if r.Stats.CutM, err = lowered.depthOfCuts(); err != nil {
				return err
			}
			r.Stats.Breached, r.Stats.CutCells = n, int64(len(cuts))
			p.again(&lowered, r.Tiles)
			if err := r.descend(ctx, p, o); err != nil {
				return err
			}
			if err := r.findBasins(ctx, p, o); err != nil {
				return err
			}
		}
	}
	return r.open(ctx, p.graph, o)
}

// passage is what routing keeps between its passes over the tiles.
type passage struct {
	surface  *Surface
	crossing [][]flatCell // by tile: cells of flats that cross its edge
	graph    *spillGraph
	only     []bool // tiles to do; nil = all
}

// again prepares for a second time over a lowered surface, for the tiles that
// see a cut and those whose level ground reaches into others.
func (p *passage) again(s *Surface, tl raster.Tiling) {
	p.surface, p.only = s, s.touched(tl)
	for t, c := range p.crossing {
		p.only[t] = p.only[t] || len(c) > 0
	}
}

func (p *passage) skips(t raster.Tile) bool { return p.only != nil && !p.only[t.Index] }

// descend gives every cell its steepest way down and resolves level ground.
func (r *Routing) descend(ctx context.Context, p *passage, o Options) error {
	w, _ := r.Dir.Size()
	type buffers struct {
		z    []float32
		tmp  []uint8
		dir  []uint8
		flat flatFinder
	}
	bufs := make([]buffers, max(1, o.Workers))
	var cells, done atomic.Int64
	err := r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		if p.skips(t) {
			return nil
		}
		b := &bufs[worker]
		zw, zh := t.W+4, t.H+4
		b.z, b.tmp = grown(b.z, zw*zh), grown(b.tmp, zw*zh)
		b.dir = grown(b.dir, (t.W+2)*(t.H+2))
		if err := p.surface.read(t.X-2, t.Y-2, zw, zh, b.z, b.tmp); err != nil {
			return err
		}
		d8(b.z, t.W+2, t.H+2, b.dir)
		p.crossing[t.Index] = b.flat.resolve(b.z, b.dir, t.X, t.Y, t.W, t.H, w)
		var n int64
		for y := range t.H {
			for _, d := range b.dir[(y+1)*(t.W+2)+1 : (y+1)*(t.W+2)+1+t.W] {
				if d != NoData {
					n++
				}
			}
		}
		cells.Add(n)
		o.report(0.4 * float64(done.Add(1)) / float64(r.Tiles.N()))
		return r.Dir.WriteFrom(t.X, t.Y, t.W, t.H, b.dir[t.W+3:], t.W+2)
	})
	if err != nil {
		return err
	}
	all := slices.Concat(p.crossing...)
	r.Stats.FlatEdge = int64(len(all))
	if p.only == nil {
		r.Stats.Cells = cells.Load()
	}
	return resolveCrossing(all, r.Dir)
}

// findBasins labels the tiles' basins and joins them.
func (r *Routing) findBasins(ctx context.Context, p *passage, o Options) error {
	w, h := r.Dir.Size()
	type buffers struct {
		z   []float32
		tmp []uint8
		dir []uint8
		bf  basinFinder
	}
	bufs := make([]buffers, max(1, o.Workers))
	g := &spillGraph{mapW: w, mapH: h, tiles: p.graph.tiles}
	p.graph = g
	var done atomic.Int64
	err := r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		if p.skips(t) {
			return nil
		}
		b := &bufs[worker]
		zw, zh := t.W+2, t.H+2
		b.z, b.tmp, b.dir = grown(b.z, zw*zh), grown(b.tmp, zw*zh), grown(b.dir, t.W*t.H)
		if err := p.surface.read(t.X-1, t.Y-1, zw, zh, b.z, b.tmp); err != nil {
			return err
		}
		if err := r.Dir.Read(t.X, t.Y, t.W, t.H, b.dir); err != nil {
			return err
		}
		g.tiles[t.Index] = b.bf.find(b.z, b.dir, t, w)
		o.report(0.4 + 0.5*float64(done.Add(1))/float64(r.Tiles.N()))
		return nil
	})
	if err != nil {
		return err
	}
	r.Stats.Pits = 0
	for i := range g.tiles {
		r.Stats.Pits += int64(len(g.tiles[i].pits))
	}
	g.join(r.Tiles.Of, func(ti, x, y int) (float32, int32) {
		bt := &g.tiles[ti]
		k := perimeter{bt.tile.W, bt.tile.H}.at(x-bt.tile.X, y-bt.tile.Y)
		return bt.rimZ[k], bt.rim[k]
	})
	return nil
}

// walk is a way being turned round: the cell to turn and where it shall drain.
type walk struct {
	x, y int32
	to   uint8
}

// open turns round the way from each pit to its pass. Each basin's cells are
// its own, so the order does not matter.
func (r *Routing) open(ctx context.Context, g *spillGraph, o Options) error {
	inbox := make([][]walk, r.Tiles.N())
	for i := range g.tiles {
		for _, l := range g.tiles[i].pits {
			k := g.base[i] + l
			x, y := int(g.from[k]%int64(g.mapW)), int(g.from[k]/int64(g.mapW))
			to := uint8(Out)
			if g.to[k] >= 0 {
				to = directionTo(int(g.to[k]%int64(g.mapW))-x, int(g.to[k]/int64(g.mapW))-y)
			}
			t := r.Tiles.Of(x, y)
			inbox[t] = append(inbox[t], walk{int32(x), int32(y), to})
		}
	}
	for {
		var busy []int
		for t := range inbox {
			if len(inbox[t]) > 0 {
				busy = append(busy, t)
			}
		}
		if len(busy) == 0 {
			return nil
		}
		leaving := make([][]walk, len(busy))
		err := raster.Parallel(ctx, o.Workers, len(busy), func(_, i int) error {
			out, err := r.turn(r.Tiles.Tile(busy[i]), inbox[busy[i]])
			leaving[i] = out
			return err
		})
		if err != nil {
			return err
		}
		for _, t := range busy {
			inbox[t] = nil
		}
		for _, ws := range leaving {
			for _, w := range ws {
				t := r.Tiles.Of(int(w.x), int(w.y))
				inbox[t] = append(inbox[t], w)
			}
		}
	}
}

func (r *Routing) turn(t raster.Tile, walks []walk) (leaving []walk, err error) {
	dir := make([]uint8, t.W*t.H)
	if err := r.Dir.Read(t.X, t.Y, t.W, t.H, dir); err != nil {
		return nil, err
	}
	for _, k := range walks {
		x, y, to := int(k.x)-t.X, int(k.y)-t.Y, k.to
		for {
			if x < 0 || y < 0 || x >= t.W || y >= t.H {
				leaving = append(leaving, walk{int32(x + t.X), int32(y + t.Y), to})
				break
			}
			i := y*t.W + x
			old := dir[i]
			dir[i] = to
			if old >= 8 {
				break
			}
			x, y, to = x+dx[old], y+dy[old], (old+4)%8
		}
	}
	return leaving, r.Dir.Write(t.X, t.Y, t.W, t.H, dir)
}

func directionTo(sx, sy int) uint8 {
	for d := range 8 {
		if dx[d] == sx && dy[d] == sy {
			return uint8(d)
		}
	}
	panic("terrain: cells of a pass are not neighbours")
}

// grown gives a slice of n cells, reusing the old one's memory.
func grown[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	return s[:n]
}
