package terrain

import (
	"context"
	"math"
	"slices"
	"sync"

	"rillwood/raster"
	"rillwood/raster/region"
)

// MaxSizes is how many sizes of drainage heights may be measured above.
const MaxSizes = 5

// Streams says which cells are streams: the mapped ones, or, without a map,
// those that drain at least Threshold.
type Streams struct {
	Burn      *raster.Plane[uint8]   // classes of BurnStreams, nil = no mapped streams
	Area      *raster.Plane[float32] // km²
	Threshold float64                // km², used when Burn is nil
	// Sizes are drainage areas in km², ascending. Height is measured above
	// the nearest stream, down the flow, that drains at least that; the first
	// is 0 for a stream of any size.
	Sizes []float64
}

// Base is the stream a cell drains to, for each size: its elevation (m, NaN =
// none met), drainage area (km²) and row-major cell index.
type Base struct {
	Z, Area [MaxSizes]float32
	Cell    [MaxSizes]int64
}

func noBase() (b Base) {
	for s := range b.Z {
		b.Z[s] = float32(math.NaN())
		b.Cell[s] = -1
	}
	return b
}

// blockSide is the side of the blocks by which the nearest stream across the
// land is sought.
const blockSide = 16

// network is what is known of the streams before heights are measured.
type network struct {
	sizes   []float64
	present []bool    // whether the map holds a stream of each size
	entries [][]Base  // per tile: the base of the water entering at each rim entry
	entryAt [][]int32 // per tile, by rim number: position in entries + 1
	blocks  [][]int32 // per size: for each block the place in seeds of the stream nearest to it; nil = no stream
	seeds   []seed
	nbx     int
}

// streamSize gives the number of sizes a cell is a stream for (sizes ascend).
func (st *Streams) streamSize(burn uint8, area float32) int {
	a := float64(area)
	if st.Burn != nil {
		if !onStream(burn) {
			return 0
		}
	} else if !(a >= st.Threshold) {
		return 0
	}
	n := 0
	for n < len(st.Sizes) && a >= st.Sizes[n] {
		n++
	}
	return n
}

// partial is a base still to be completed where its water leaves the tile.
type partial struct {
	base Base
	x, y int32 // map cell beyond the tile, -1 = the way ends
}

// survey walks the streams of all tiles: the bases of the water entering each
// tile, and the streams of each block.
func (st *Streams) survey(ctx context.Context, r *Routing, z *raster.Plane[float32], o Options) (*network, error) {
	w, h := z.Size()
	n := &network{sizes: st.Sizes, present: make([]bool, len(st.Sizes)), nbx: (w + blockSide - 1) / blockSide}
	nby := (h + blockSide - 1) / blockSide
	n.entries, n.entryAt = make([][]Base, r.Tiles.N()), make([][]int32, r.Tiles.N())
	parts := make([][]partial, r.Tiles.N())
	found := make([][]seed, r.Tiles.N())
	bufs := make([]heightBuffers, max(1, o.Workers))
	var mu sync.Mutex
	err := r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		b := &bufs[worker]
		if err := b.load(st, r, z, t); err != nil {
			return err
		}
		parts[t.Index], n.entryAt[t.Index] = b.enter(st, t, w)
		seeds, most := b.seeds(st, t)
		found[t.Index] = seeds
		mu.Lock()
		for s := range most {
			n.present[s] = true
		}
		mu.Unlock()
		return nil
	})
	if err != nil {
		return nil, err
	}
	resolveEntries(parts, n, r.Tiles)
	for _, f := range found {
		n.seeds = append(n.seeds, f...)
	}
	n.blocks = make([][]int32, len(st.Sizes))
	for s := range st.Sizes {
		n.blocks[s] = nearestBlocks(n.seeds, s, n.nbx, nby)
	}
	return n, nil
}

// resolveEntries completes the bases of the water that crosses whole tiles.
func resolveEntries(parts [][]partial, n *network, tl raster.Tiling) {
	for t := range parts {
		n.entries[t] = make([]Base, len(parts[t]))
	}
	done := make([][]bool, len(parts))
	for t := range done {
		done[t] = make([]bool, len(parts[t]))
	}
	type ref struct{ t, k int }
	next := func(p partial) (ref, bool) {
		if p.x < 0 {
			return ref{}, false
		}
		t := tl.Of(int(p.x), int(p.y))
		tile := tl.Tile(t)
		k := n.entryAt[t][perimeter{tile.W, tile.H}.at(int(p.x)-tile.X, int(p.y)-tile.Y)]
		return ref{t, int(k - 1)}, true
	}
	var stack []ref
	for t := range parts {
		for k := range parts[t] {
			stack = append(stack[:0], ref{t, k})
			for len(stack) > 0 {
				at := stack[len(stack)-1]
				p := parts[at.t][at.k]
				to, more := next(p)
				if !done[at.t][at.k] && more && !done[to.t][to.k] {
					stack = append(stack, to)
					continue
				}
				if !done[at.t][at.k] {
					b := p.base
					if more {
						b.fill(&n.entries[to.t][to.k], len(n.sizes))
					}
					n.entries[at.t][at.k] = b
					done[at.t][at.k] = true
				}
				stack = stack[:len(stack)-1]
			}
		}
	}
}

// fill takes from below what b has not met.
func (b *Base) fill(below *Base, sizes int) {
	for s := range sizes {
		if b.Cell[s] < 0 {
			b.Z[s], b.Area[s], b.Cell[s] = below.Z[s], below.Area[s], below.Cell[s]
		}
	}
}

// seed is the stream cell that stands for a block.
type seed struct {
	block int32
	sizes uint8
	off   int32 // squared distance to the block's middle, in half cells
	cell  int64
	z     float32
	area  float32
}

// nearestBlocks finds for each block the stream of size s nearest to it.
func nearestBlocks(seeds []seed, s, nbx, nby int) []int32 {
	best := make(map[int32]int32)
	for k := range seeds {
		f := &seeds[k]
		if int(f.sizes) <= s {
			continue
		}
		b, ok := best[f.block]
		if !ok || f.off < seeds[b].off || (f.off == seeds[b].off && f.cell < seeds[b].cell) {
			best[f.block] = int32(k)
		}
	}
	if len(best) == 0 {
		return nil
	}
	blocks := make([]int32, 0, len(best))
	for b := range best {
		blocks = append(blocks, b)
	}
	slices.Sort(blocks)
	near := region.NearestSeed(nbx, nby, blocks)
	for i, k := range near {
		near[i] = best[blocks[k]]
	}
	return near
}

// across finds the nearest stream of size s over land from cell (x, y):
// exact up to the choice of one stream cell a block. Distance in cells.
func (n *network) across(s, x, y, w int) (z, area float32, cell int64, dist float64) {
	blocks := n.blocks[s]
	cell = -1
	if blocks == nil {
		return float32(math.NaN()), 0, -1, math.Inf(1)
	}
	nby := len(blocks) / n.nbx
	bx, by := x/blockSide, y/blockSide
	best := int64(math.MaxInt64)
	for j := max(0, by-1); j <= min(nby-1, by+1); j++ {
		for i := max(0, bx-1); i <= min(n.nbx-1, bx+1); i++ {
			b := &n.seeds[blocks[j*n.nbx+i]]
			c := b.cell
			ex, ey := c%int64(w)-int64(x), c/int64(w)-int64(y)
			if d := ex*ex + ey*ey; d < best || (d == best && c < cell) {
				best, cell, z, area = d, c, b.z, b.area
			}
		}
	}
	return z, area, cell, math.Sqrt(float64(best))
}
