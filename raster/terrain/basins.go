package terrain

import (
	"rillwood/raster"
)

// Basins: the cells that run down to one pit, and the passes between them.
// Water that a pit would hold leaves over the lowest pass; which passes those
// are is a minimum spanning tree of the graph of basins, rooted outside the
// map: Cordonnier G., Bovy B., Braun J. (2019) A versatile, linear complexity
// algorithm for flow routing in topographies with depressions, Earth Surface
// Dynamics 7:549–562 (from memory). No cell ever enters a priority queue,
// which is what makes filling and routing linear here.

// pass is a way from one basin to another: over the higher of two adjacent
// cells a and b (row-major indices of the map). b is -1 when the way leads off the map.
type pass struct {
	z      float32
	la, lb int32 // basins of a and b
	a, b   int64
}

// less is a total order, so that the tree is unique: by height, then by place.
// It does not look at labels, which depend on how the map is cut into tiles.
func (p pass) less(q pass) bool {
	if p.z != q.z {
		return p.z < q.z
	}
	pl, ph := min(p.a, p.b), max(p.a, p.b)
	ql, qh := min(q.a, q.b), max(q.a, q.b)
	if pl != ql {
		return pl < ql
	}
	return ph < qh
}

// outside is the label of what drains off the map.
const outside = 0

// basinTile is what one tile tells the graph. Labels count from 1 within the
// tile; those of exits stand for whatever basin the cell beyond belongs to.
type basinTile struct {
	tile   raster.Tile
	n      int32     // labels
	pits   []int32   // label of each pit's basin …
	pitAt  []int64   // … and the pit's cell
	pitZ   []float32 // … and its height
	exits  []int32   // label of each exit …
	target []int64   // … and the cell beyond the tile it leads to
	passes []pass    // the tile's own spanning forest
	rimZ   []float32 // height and label of the rim cells
	rim    []int32
}

// basinFinder works on one tile after another with the same buffers.
type basinFinder struct {
	label []int32 // stride w
	table passTable
	path  []int32
	union []int32
}

// find labels a w×h tile and finds its passes. z carries one more cell on each
// side (stride w+2), dir none.
func (b *basinFinder) find(z []float32, dir []uint8, t raster.Tile, mapW int) basinTile {
	w, h := t.W, t.H
	bt := basinTile{tile: t}
	b.labelCells(dir, t, mapW, &bt)
	label := b.label
	s := w + 2
	for _, p := range bt.pitAt {
		x, y := int(p%int64(mapW))-t.X, int(p/int64(mapW))-t.Y
		bt.pitZ = append(bt.pitZ, z[(y+1)*s+x+1])
	}
	b.table.reset()
	add := func(z float32, la, lb int32, ca, cb int64) {
		if la > lb || (la == lb && ca > cb) {
			la, lb, ca, cb = lb, la, cb, ca
		}
		b.table.put(pass{z, la, lb, ca, cb})
	}
	zo := offsets(s)
	for y := range h {
		base := int64(t.Y+y)*int64(mapW) + int64(t.X)
		for x := range w {
			i := y*w + x
			la := label[i]
			if la < 0 {
				continue
			}
			zi := (y+1)*s + x + 1
			c := z[zi]
			here := base + int64(x)
			// Each pair once: towards E, SE, S, SW.
			if x+1 < w {
				if lb := label[i+1]; lb != la && lb >= 0 {
					add(max(c, z[zi+1]), la, lb, here, here+1)
				}
			}
			if y+1 < h {
				if lb := label[i+w]; lb != la && lb >= 0 {
					add(max(c, z[zi+s]), la, lb, here, here+int64(mapW))
				}
				if x+1 < w {
					if lb := label[i+w+1]; lb != la && lb >= 0 {
						add(max(c, z[zi+s+1]), la, lb, here, here+int64(mapW)+1)
					}
				}
				if x > 0 {
					if lb := label[i+w-1]; lb != la && lb >= 0 {
						add(max(c, z[zi+s-1]), la, lb, here, here+int64(mapW)-1)
					}
				}
			}
			if la != outside {
				sum := z[zi+zo[0]] + z[zi+zo[1]] + z[zi+zo[2]] + z[zi+zo[3]] + z[zi+zo[4]] + z[zi+zo[5]] + z[zi+zo[6]] + z[zi+zo[7]]
				if sum != sum { // beside missing ground: may spill off the map here
					b.table.put(pass{c, outside, la, -1, here})
				}
			}
		}
	}
	bt.passes = forest(b.table.all(), int(bt.n)+1, &b.union)
	rim := perimeter{w, h}
	bt.rimZ = make([]float32, rim.n())
	bt.rim = make([]int32, rim.n())
	rim.each(func(i, x, y int) {
		bt.rimZ[i] = z[(y+1)*s+x+1]
		bt.rim[i] = label[y*w+x]
	})
	return bt
}

// labelCells follows every cell down to its pit, off the map (label 0) or off
// the tile; cells without elevation get -1.
func (b *basinFinder) labelCells(dir []uint8, t raster.Tile, mapW int, bt *basinTile) {
	w, h := t.W, t.H
	if cap(b.label) < w*h {
		b.label = make([]int32, w*h)
	}
	b.label = b.label[:w*h]
	label := b.label
	const fresh = -2
	for i := range label {
		label[i] = fresh
	}
	off := offsets(w)
	for start := range label {
		if label[start] != fresh {
			continue
		}
		b.path = b.path[:0]
		i := start
		l := int32(fresh)
		for {
			if label[i] != fresh {
				l = label[i]
				break
			}
			d := dir[i]
			b.path = append(b.path, int32(i))
			if d >= 8 {
				switch d {
				case Out:
					l = outside
				case Pit:
					bt.n++
					l = bt.n
					bt.pits = append(bt.pits, l)
					bt.pitAt = append(bt.pitAt, int64(t.Y+i/w)*int64(mapW)+int64(t.X+i%w))
				default:
					l = -1
				}
				break
			}
			x, y := i%w+dx[d], i/w+dy[d]
			if x < 0 || y < 0 || x >= w || y >= h {
				bt.n++
				l = bt.n
				bt.exits = append(bt.exits, l)
				bt.target = append(bt.target, int64(t.Y+y)*int64(mapW)+int64(t.X+x))
				break
			}
			i += off[d]
		}
		for _, j := range b.path {
			label[j] = l
		}
	}
}

// passTable keeps the lowest pass of each pair of labels: open addressing,
// since a built-in map took most of the time here.
type passTable struct {
	slots []int32 // index into list + 1
	list  []pass
	mask  uint32
	last  int32 // slot content of the previous put: neighbours repeat pairs
}

func (t *passTable) reset() {
	if t.slots == nil {
		t.slots = make([]int32, 1<<12)
		t.mask = 1<<12 - 1
	}
	clear(t.slots)
	t.list = t.list[:0]
	t.last = 0
}

func hashPair(a, b int32) uint32 {
	h := uint64(uint32(a))<<32 | uint64(uint32(b))
	h *= 0x9E3779B97F4A7C15
	return uint32(h >> 32)
}

func (t *passTable) put(p pass) {
	if t.last > 0 {
		if q := &t.list[t.last-1]; q.la == p.la && q.lb == p.lb {
			if p.less(*q) {
				*q = p
			}
			return
		}
	}
	i := hashPair(p.la, p.lb) & t.mask
	for {
		k := t.slots[i]
		if k == 0 {
			t.list = append(t.list, p)
			t.slots[i] = int32(len(t.list))
			t.last = t.slots[i]
			if len(t.list)*2 > len(t.slots) {
				t.grow()
			}
			return
		}
		if q := &t.list[k-1]; q.la == p.la && q.lb == p.lb {
			if p.less(*q) {
				*q = p
			}
			t.last = k
			return
		}
		i = (i + 1) & t.mask
	}
}

func (t *passTable) grow() {
	n := len(t.slots) * 2
	t.slots = make([]int32, n)
	t.mask = uint32(n - 1)
	for k, p := range t.list {
		i := hashPair(p.la, p.lb) & t.mask
		for t.slots[i] != 0 {
			i = (i + 1) & t.mask
		}
		t.slots[i] = int32(k + 1)
	}
}

func (t *passTable) all() []pass { return t.list }
