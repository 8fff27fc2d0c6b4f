package terrain

import (
	"context"
	"fmt"
	"math"
	"sync/atomic"

	"rillwood/raster"
)

// Inflow is drainage area that enters the map from outside at a cell.
type Inflow struct {
	X, Y int
	Km2  float64
}

// Accumulate gives the drainage area of every cell in km², its own included:
// what the map holds upstream of it, plus the inflows. NaN where the routing
// has no data. cellKm2 is the area of a cell.
//
// Tiles count on their own first; what crosses their rims is solved as a small
// graph and added along the ways it takes through each tile: Barnes R. (2017)
// Parallel non-divergent flow accumulation for trillion cell digital elevation
// models on desktops or clusters, Environmental Modelling & Software
// 92:202–212 (from memory). Counts are whole cells, so the order of adding
// changes nothing.
func Accumulate(ctx context.Context, r *Routing, cellKm2 float64, inflows []Inflow, o Options) (*raster.Plane[float32], error) {
	w, h := r.Dir.Size()
	if int64(w)*int64(h) > math.MaxUint32 {
		return nil, fmt.Errorf("a map of %d × %d cells is more than the 4.29e9 that drainage is counted on: use a larger cell", w, h)
	}
	area, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	a := &accumulation{dir: r.Dir, area: area, tiling: r.Tiles, cellKm2: cellKm2, tiles: make([]flowTile, r.Tiles.N())}
	bufs := make([]flowBuffers, max(1, o.Workers))
	var done atomic.Int64
	both := func(f func(b *flowBuffers, t raster.Tile) error) error {
		return r.Tiles.Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
			if err := f(&bufs[worker], t); err != nil {
				return err
			}
			o.report(0.5 * float64(done.Add(1)) / float64(r.Tiles.N()))
			return nil
		})
	}
	err = both(a.count)
	if err == nil {
		joinFlows(a.tiles, r.Tiles)
		err = both(a.add)
	}
	if err == nil {
		err = addInflows(r, area, inflows)
	}
	if err != nil {
		area.Close()
		return nil, err
	}
	return area, nil
}

// accumulation is the two passes of Accumulate over the tiles.
type accumulation struct {
	dir     *raster.Plane[uint8]
	area    *raster.Plane[float32]
	tiling  raster.Tiling
	tiles   []flowTile
	cellKm2 float64
}

// count counts a tile on its own and notes what crosses its rim.
func (a *accumulation) count(b *flowBuffers, t raster.Tile) error {
	if err := b.load(a.dir, t); err != nil {
		return err
	}
	b.count(t)
	a.tiles[t.Index] = b.rimFlows(t)
	b.out = grown(b.out, t.W*t.H)
	s := t.W + 2
	for y := range t.H {
		acc := b.acc[(y+1)*s+1 : (y+1)*s+1+t.W]
		dir := b.dir[(y+1)*s+1 : (y+1)*s+1+t.W]
		row := b.out[y*t.W : (y+1)*t.W]
		for x, n := range acc {
			row[x] = a.km2(n)
			if dir[x] == NoData {
				row[x] = float32(math.NaN())
			}
		}
	}
	return a.area.Write(t.X, t.Y, t.W, t.H, b.out)
}

func (a *accumulation) km2(n uint32) float32 { return float32(float64(n) * a.cellKm2) }

// add adds what enters a tile from others to the cells on its way. Only those
// change; their own counts are taken back out of the area, which holds them
// exactly enough while a tile has fewer than 2²² cells, and are counted anew in a larger one.
func (a *accumulation) add(b *flowBuffers, t raster.Tile) error {
	ft := &a.tiles[t.Index]
	if len(ft.entries) == 0 {
		return nil
	}
	if err := b.load(a.dir, t); err != nil {
		return err
	}
	large := t.W*t.H >= 1<<22
	if large {
		b.count(t)
	}
	// In memory the few cells are changed where they are.
	mapW, _ := a.area.Size()
	mem := a.area.Mem()
	var out []float32
	stride := t.W
	if mem != nil {
		out, stride = mem[t.Y*mapW+t.X:], mapW
	} else {
		b.out = grown(b.out, t.W*t.H)
		out = b.out
		if err := a.area.Read(t.X, t.Y, t.W, t.H, out); err != nil {
			return err
		}
	}
	b.extra = grown(b.extra, len(b.dir))
	clear(b.extra)
	s := t.W + 2
	off := offsets(s)
	for _, e := range ft.entries {
		for i := (int(e.y)+1)*s + int(e.x) + 1; b.dir[i] != NoData; i += off[b.dir[i]] {
			b.extra[i] += e.in
			if x, y := i%s, i/s; x == 0 || y == 0 || x > t.W || y > t.H || b.dir[i] >= 8 {
				break // beyond the tile, or where the water leaves the map
			}
		}
	}
	for y := range t.H {
		extra := b.extra[(y+1)*s+1 : (y+1)*s+1+t.W]
		row := out[y*stride : y*stride+t.W]
		for x, n := range extra {
			if n == 0 {
				continue
			}
			own := uint32(math.Round(float64(row[x]) / a.cellKm2))
			if large {
				own = b.acc[(y+1)*s+1+x]
			}
			row[x] = a.km2(own + n)
		}
	}
	if mem != nil {
		return nil
	}
	return a.area.Write(t.X, t.Y, t.W, t.H, out)
}

// flowTile is what one tile tells the graph of flows.
type flowTile struct {
	entries []flowEntry // rim cells that water enters by, in rim order
	exits   []flowExit  // rim cells that water leaves by
	entryAt []int32     // by rim number: position in entries + 1
}

type flowEntry struct {
	x, y    int32 // cell in the tile
	exit    int32 // position in exits where its water leaves again, -1 = it stays
	pending int32 // exits of other tiles still to come
	in      uint32
}

type flowExit struct {
	x, y    int32 // cell beyond the tile, in map cells
	count   uint32
	pending int32 // entries still to come
}

// flowBuffers hold one tile's directions with a rim of the neighbours' (stride w+2).
type flowBuffers struct {
	dir   []uint8
	acc   []uint32
	indeg []uint8
	exit  []int32
	extra []uint32
	out   []float32
}

func (b *flowBuffers) load(dir *raster.Plane[uint8], t raster.Tile) error {
	n := (t.W + 2) * (t.H + 2)
	b.dir, b.acc, b.indeg = grown(b.dir, n), grown(b.acc, n), grown(b.indeg, n)
	return dir.ReadPadded(t.X-1, t.Y-1, t.W+2, t.H+2, b.dir, NoData)
}

// count counts the cells upstream of each within the tile.
func (b *flowBuffers) count(t raster.Tile) {
	s := t.W + 2
	off := offsets(s)
	acc, indeg, dir := b.acc, b.indeg, b.dir
	clear(indeg)
	for i := range acc {
		acc[i] = 1
	}
	for y := 1; y <= t.H; y++ {
		for i := y*s + 1; i < y*s+1+t.W; i++ {
			if d := dir[i]; d < 8 {
				indeg[i+off[d]]++
			}
		}
	}
	// The rim around the tile belongs to the neighbours: never start there,
	// never go on from there.
	const finished = 255
	for x := range s {
		indeg[x], indeg[(t.H+1)*s+x] = finished-8, finished-8
	}
	for y := range t.H + 2 {
		indeg[y*s], indeg[y*s+s-1] = finished-8, finished-8
	}
	for y := 1; y <= t.H; y++ {
		for i := y*s + 1; i < y*s+1+t.W; i++ {
			for c := i; indeg[c] == 0; {
				indeg[c] = finished
				d := dir[c]
				if d >= 8 {
					break
				}
				n := c + off[d]
				acc[n] += acc[c]
				indeg[n]--
				c = n
			}
		}
	}
}

// rimFlows lists where water enters and leaves the tile, after count.
func (b *flowBuffers) rimFlows(t raster.Tile) flowTile {
	s := t.W + 2
	off := offsets(s)
	p := perimeter{t.W, t.H}
	ft := flowTile{entryAt: make([]int32, p.n())}
	exitAt := make(map[int]int32)
	p.each(func(k, x, y int) {
		i := (y+1)*s + x + 1
		if d := b.dir[i]; d < 8 {
			nx, ny := x+dx[d], y+dy[d]
			if nx < 0 || ny < 0 || nx >= t.W || ny >= t.H {
				exitAt[i] = int32(len(ft.exits))
				ft.exits = append(ft.exits, flowExit{x: int32(nx + t.X), y: int32(ny + t.Y), count: b.acc[i]})
			}
		}
	})
	p.each(func(k, x, y int) {
		i := (y+1)*s + x + 1
		if b.dir[i] == NoData {
			return
		}
		n := int32(0)
		for d := range 8 {
			nx, ny := x+dx[d], y+dy[d]
			if nx >= 0 && ny >= 0 && nx < t.W && ny < t.H {
				continue
			}
			if nd := b.dir[i+off[d]]; nd < 8 && int(nd) == (d+4)%8 {
				n++
			}
		}
		if n > 0 {
			ft.entries = append(ft.entries, flowEntry{x: int32(x), y: int32(y), exit: -1, pending: n})
			ft.entryAt[k] = int32(len(ft.entries))
		}
	})
	// Follow each entry's water; ways already followed are remembered.
	b.exit = grown(b.exit, s*(t.H+2))
	clear(b.exit)
	for k := range ft.entries {
		e := &ft.entries[k]
		start := (int(e.y)+1)*s + int(e.x) + 1
		i, ex := start, int32(-1)
		for {
			if b.exit[i] != 0 {
				ex = b.exit[i] - 2
				break
			}
			if q, ok := exitAt[i]; ok {
				ex = q
				break
			}
			d := b.dir[i]
			if d >= 8 {
				break
			}
			i += off[d]
		}
		for j := start; b.exit[j] == 0; {
			b.exit[j] = ex + 2
			if j == i || b.dir[j] >= 8 {
				break
			}
			j += off[b.dir[j]]
		}
		e.exit = ex
	}
	for _, e := range ft.entries {
		if e.exit >= 0 {
			ft.exits[e.exit].pending++
		}
	}
	return ft
}

// joinFlows passes the tiles' flows on until every entry has all its water.
func joinFlows(tiles []flowTile, tl raster.Tiling) {
	type ref struct{ tile, exit int32 }
	var queue []ref
	for t := range tiles {
		for k, e := range tiles[t].exits {
			if e.pending == 0 {
				queue = append(queue, ref{int32(t), int32(k)})
			}
		}
	}
	for q := 0; q < len(queue); q++ {
		x := tiles[queue[q].tile].exits[queue[q].exit]
		t := tl.Of(int(x.x), int(x.y))
		tile := tl.Tile(t)
		k := tiles[t].entryAt[perimeter{tile.W, tile.H}.at(int(x.x)-tile.X, int(x.y)-tile.Y)]
		e := &tiles[t].entries[k-1]
		e.in += x.count
		e.pending--
		if e.pending == 0 && e.exit >= 0 {
			ex := &tiles[t].exits[e.exit]
			ex.count += e.in
			ex.pending--
			if ex.pending == 0 {
				queue = append(queue, ref{int32(t), e.exit})
			}
		}
	}
}

// addInflows carries area from outside down to where its water leaves the map.
func addInflows(r *Routing, area *raster.Plane[float32], inflows []Inflow) error {
	for _, in := range inflows {
		x, y := in.X, in.Y
		for {
			var d [1]uint8
			var a [1]float32
			if err := r.Dir.Read(x, y, 1, 1, d[:]); err != nil {
				return err
			}
			if d[0] == NoData {
				break
			}
			if err := area.Read(x, y, 1, 1, a[:]); err != nil {
				return err
			}
			a[0] += float32(in.Km2)
			if err := area.Write(x, y, 1, 1, a[:]); err != nil {
				return err
			}
			if d[0] >= 8 {
				break
			}
			x, y = x+dx[d[0]], y+dy[d[0]]
		}
	}
	return nil
}
