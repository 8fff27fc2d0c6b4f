package terrain

import (
	"context"
	"math"
	"sync/atomic"

	"rillwood/raster"
)

// Height above the nearest drainage (HAND): Rennó C.D. et al. (2008) Remote
// Sensing of Environment 112:3469–3481; Nobre A.D. et al. (2011) J. Hydrology
// 404:13–29. A cell is measured from the stream cell its water reaches first;
// here, at once, for streams of several sizes of drainage.

// View is one tile as the callback of Heights sees it. Its slices are reused
// for the next tile.
type View struct {
	Tile raster.Tile
	// Z is the elevation with one more cell on each side: (W+2)×(H+2), NaN
	// where there is none.
	Z []float32
	// Base gives for each of the W×H cells its place in Bases; 0 stands for
	// none.
	Base  []int32
	Bases []Base
	// Stream tells which of the cells are streams.
	Stream []bool

	n *network
	w int
}

// Present tells which of the sizes the map holds.
func (v *View) Present() []bool { return v.n.present }

// Across gives the nearest stream of size s over land from the tile's cell
// (x, y): its elevation (m), area (km²), cell index and distance in cells; cell -1
// when the map holds none. For cells whose water leaves the map first.
func (v *View) Across(s, x, y int) (z, area float32, cell int64, dist float64) {
	return v.n.across(s, v.Tile.X+x, v.Tile.Y+y, v.w)
}

// heightBuffers hold one tile with a rim (stride w+2).
type heightBuffers struct {
	dir   []uint8
	z     []float32
	area  []float32
	burn  []uint8
	size  []uint8 // number of sizes each cell is a stream for
	lab   []int32
	path  []int32
	bases []Base
	view  View
}

func (b *heightBuffers) load(st *Streams, r *Routing, z *raster.Plane[float32], t raster.Tile) error {
	n := (t.W + 2) * (t.H + 2)
	b.dir, b.z = grown(b.dir, n), grown(b.z, n)
	b.area, b.burn, b.size = grown(b.area, t.W*t.H), grown(b.burn, t.W*t.H), grown(b.size, t.W*t.H)
	if err := r.Dir.ReadPadded(t.X-1, t.Y-1, t.W+2, t.H+2, b.dir, NoData); err != nil {
		return err
	}
	if err := z.ReadPadded(t.X-1, t.Y-1, t.W+2, t.H+2, b.z, float32(math.NaN())); err != nil {
		return err
	}
	if err := st.Area.Read(t.X, t.Y, t.W, t.H, b.area); err != nil {
		return err
	}
	if st.Burn != nil {
		if err := st.Burn.Read(t.X, t.Y, t.W, t.H, b.burn); err != nil {
			return err
		}
		for i, c := range b.burn {
			b.size[i] = 0
			if onStream(c) {
				b.size[i] = uint8(st.streamSize(c, b.area[i]))
			}
		}
		return nil
	}
	thr := float32(st.Threshold)
	for i, a := range b.area {
		b.size[i] = 0
		if a >= thr {
			b.size[i] = uint8(st.streamSize(0, a))
		}
	}
	return nil
}

// enter follows the water that enters the tile until all sizes are met or it leaves.
func (b *heightBuffers) enter(st *Streams, t raster.Tile, mapW int) (parts []partial, entryAt []int32) {
	p := perimeter{t.W, t.H}
	entryAt = make([]int32, p.n())
	s := t.W + 2
	off := offsets(s)
	p.each(func(k, x, y int) {
		i := (y+1)*s + x + 1
		if b.dir[i] == NoData {
			return
		}
		entered := false
		for d := range 8 {
			nx, ny := x+dx[d], y+dy[d]
			if nx >= 0 && ny >= 0 && nx < t.W && ny < t.H {
				continue
			}
			if nd := b.dir[i+off[d]]; nd < 8 && int(nd) == (d+4)%8 {
				entered = true
			}
		}
		if !entered {
			return
		}
		base, met := noBase(), 0
		cx, cy := x, y
		q := partial{x: -1, y: -1}
		for {
			if n := int(b.size[cy*t.W+cx]); n > met {
				b.meet(&base, met, n, cx, cy, t, mapW)
				met = n
				if met == len(st.Sizes) {
					break
				}
			}
			d := b.dir[(cy+1)*s+cx+1]
			if d >= 8 {
				break
			}
			cx, cy = cx+dx[d], cy+dy[d]
			if cx < 0 || cy < 0 || cx >= t.W || cy >= t.H {
				q.x, q.y = int32(cx+t.X), int32(cy+t.Y)
				break
			}
		}
		q.base = base
		parts = append(parts, q)
		entryAt[k] = int32(len(parts))
	})
	return parts, entryAt
}

// meet notes the stream cell (x, y) for the sizes from … to-1.
func (b *heightBuffers) meet(base *Base, from, to, x, y int, t raster.Tile, mapW int) {
	z, a := b.z[(y+1)*(t.W+2)+x+1], b.area[y*t.W+x]
	c := int64(t.Y+y)*int64(mapW) + int64(t.X+x)
	for s := from; s < to; s++ {
		base.Z[s], base.Area[s], base.Cell[s] = z, a, c
	}
}

// seeds lists the stream cell nearest to the middle of each block, for each
// size, and the sizes met.
func (b *heightBuffers) seeds(st *Streams, t raster.Tile) (out []seed, sizes map[int]bool) {
	sizes = map[int]bool{}
	w, _ := st.Area.Size()
	nbx := (w + blockSide - 1) / blockSide
	best := map[int64]seed{}
	for i, n := range b.size {
		if n == 0 {
			continue
		}
		x, y := t.X+i%t.W, t.Y+i/t.W
		ox, oy := int32(2*(x%blockSide)+1-blockSide), int32(2*(y%blockSide)+1-blockSide)
		f := seed{block: int32(y/blockSide*nbx + x/blockSide), off: ox*ox + oy*oy, cell: int64(y)*int64(w) + int64(x),
			z: b.z[(i/t.W+1)*(t.W+2)+i%t.W+1], area: b.area[i]}
		for s := range int(n) {
			sizes[s] = true
			f.sizes = uint8(s + 1)
			key := int64(f.block)*MaxSizes + int64(s)
			if o, ok := best[key]; !ok || f.off < o.off || (f.off == o.off && f.cell < o.cell) {
				best[key] = f
			}
		}
	}
	for _, f := range best {
		out = append(out, f)
	}
	return out, sizes
}

// label gives every cell of the tile its base. Ways are followed down to
// something known and labelled on the way back up.
func (b *heightBuffers) label(st *Streams, n *network, tl raster.Tiling, t raster.Tile, mapW int) {
	const fresh = -1
	b.lab = grown(b.lab, t.W*t.H)
	lab := b.lab
	for i := range lab {
		lab[i] = fresh
	}
	b.bases = append(b.bases[:0], noBase())
	s := t.W + 2
	off := offsets(t.W)
	for start := range lab {
		if lab[start] != fresh {
			continue
		}
		b.path = b.path[:0]
		i, x, y := start, start%t.W, start/t.W
		var l int32
		for {
			if lab[i] != fresh {
				l = lab[i]
				break
			}
			b.path = append(b.path, int32(i))
			d := b.dir[(y+1)*s+x+1]
			if d >= 8 {
				l = 0
				break
			}
			x, y = x+dx[d], y+dy[d]
			if x < 0 || y < 0 || x >= t.W || y >= t.H {
				mx, my := x+t.X, y+t.Y
				ti := tl.Of(mx, my)
				to := tl.Tile(ti)
				k := n.entryAt[ti][perimeter{to.W, to.H}.at(mx-to.X, my-to.Y)]
				l = int32(len(b.bases))
				b.bases = append(b.bases, n.entries[ti][k-1])
				break
			}
			i += off[d]
		}
		for k := len(b.path) - 1; k >= 0; k-- {
			j := int(b.path[k])
			if m := int(b.size[j]); m > 0 {
				base := b.bases[l]
				b.meet(&base, 0, m, j%t.W, j/t.W, t, mapW)
				l = int32(len(b.bases))
				b.bases = append(b.bases, base)
			}
			lab[j] = l
		}
	}
}

// Heights finds for every cell the streams it drains to and hands the tiles,
// one after another but on several workers, to f. worker is 0 … Workers−1.
func Heights(ctx context.Context, st *Streams, r *Routing, z *raster.Plane[float32], o Options, f func(worker int, v *View) error) error {
	if len(st.Sizes) == 0 || len(st.Sizes) > MaxSizes {
		panic("terrain: one to five sizes of drainage")
	}
	n, err := st.survey(ctx, r, z, o)
	if err != nil {
		return err
	}
	w, _ := z.Size()
	bufs := make([]heightBuffers, max(1, o.Workers))
	var done atomic.Int64
	return r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		b := &bufs[worker]
		if err := b.load(st, r, z, t); err != nil {
			return err
		}
		b.label(st, n, r.Tiles, t, w)
		v := &b.view
		v.Tile, v.Z, v.Base, v.Bases, v.n, v.w = t, b.z, b.lab, b.bases, n, w
		v.Stream = grown(v.Stream, t.W*t.H)
		for i, m := range b.size {
			v.Stream[i] = m > 0
		}
		if err := f(worker, v); err != nil {
			return err
		}
		o.report(float64(done.Add(1)) / float64(r.Tiles.N()))
		return nil
	})
}
