package terrain

import (
	"cmp"
	"slices"
	"sort"

	"rillwood/raster"
)

// Flats: level ground without a steepest way down. Water leaves a flat
// towards its low edge and away from higher ground: Garbrecht J., Martz L.W.
// (1997) The assignment of drainage direction over flat surfaces in raster
// digital elevation models, J. Hydrology 193:204–213, in the form of Barnes
// R., Lehman C., Mulla D. (2014) An efficient assignment of drainage direction
// over flat surfaces in raster digital elevation models, Computers &
// Geosciences 62:128–135. A flat without a low edge drains to the cell with
// the smallest index, which stays a Pit.

// flat is level ground, one piece or several, its cells in ascending index.
type flat struct {
	nbr  [][8]int32 // position in the flat of each equal neighbour, -1 = none
	high []bool     // touches higher ground
	low  []int8     // direction of an equal neighbour that has a way down, isPit, or -1 = none
}

// isPit in low marks the cell that a piece without a way down drains to.
const isPit = 8

func (f *flat) reset() { f.nbr, f.high, f.low = f.nbr[:0], f.high[:0], f.low[:0] }

var noNeighbours = [8]int32{-1, -1, -1, -1, -1, -1, -1, -1}

// close gives each piece without a way down its pit: the cell with the
// smallest index.
func (f *flat) close() {
	seen := make([]bool, len(f.nbr))
	var piece []int32
	for start := range f.nbr {
		if seen[start] {
			continue
		}
		piece = append(piece[:0], int32(start))
		seen[start] = true
		open := false
		for q := 0; q < len(piece); q++ {
			i := piece[q]
			open = open || f.low[i] >= 0
			for _, j := range f.nbr[i] {
				if j >= 0 && !seen[j] {
					seen[j] = true
					piece = append(piece, j)
				}
			}
		}
		if open {
			continue
		}
		for d, j := range f.nbr[start] {
			if j >= 0 {
				f.low[j] = int8((d + 4) % 8)
			}
		}
		f.low[start] = isPit
	}
}

// solve gives the direction of each cell.
func (f *flat) solve(dir []uint8) {
	f.close()
	away := f.spread(func(i int) bool { return f.high[i] })
	toward := f.spread(func(i int) bool { return f.low[i] >= 0 && f.low[i] != isPit })
	for i := range f.nbr {
		switch {
		case f.low[i] == isPit:
			dir[i] = Pit
			continue
		case f.low[i] >= 0:
			dir[i] = uint8(f.low[i])
			continue
		}
		best, code := int32(1<<30), uint8(Pit)
		for d, j := range f.nbr[i] {
			if j < 0 || f.low[j] == isPit {
				continue
			}
			if k := 2*toward[j] - away[j]; k < best {
				best, code = k, uint8(d)
			}
		}
		dir[i] = code
	}
}

// spread counts the steps from the nearest of the cells that start, which
// count 1; cells never reached count 0.
func (f *flat) spread(start func(i int) bool) []int32 {
	step := make([]int32, len(f.nbr))
	queue := make([]int32, 0, len(f.nbr))
	for i := range f.nbr {
		if start(i) {
			step[i] = 1
			queue = append(queue, int32(i))
		}
	}
	for q := 0; q < len(queue); q++ {
		i := queue[q]
		for _, j := range f.nbr[i] {
			if j >= 0 && step[j] == 0 {
				step[j] = step[i] + 1
				queue = append(queue, j)
			}
		}
	}
	return step
}

// flatCell is a cell of a flat that crosses the edge of its tile.
type flatCell struct {
	index int64
	z     float32
	high  bool
	low   int8
}

// flatFinder resolves the flats of one tile; buffers are kept between tiles.
type flatFinder struct {
	id    []int32 // position in the flat + 1; -1 = done
	cells []int32
	f     flat
	dirs  []uint8
}

// resolve gives directions to the flats inside a w×h tile with first cell (x0,
// y0). z carries two more cells on each side (stride w+4), dir one (stride
// w+2). Flats that go on beyond the tile are returned instead.
func (ff *flatFinder) resolve(z []float32, dir []uint8, x0, y0, w, h, mapW int) (crossing []flatCell) {
	if cap(ff.id) < w*h {
		ff.id = make([]int32, w*h)
	}
	id := ff.id[:w*h]
	clear(id)
	zs, ds := w+4, w+2
	zo, do := offsets(zs), offsets(ds)
	for start := range id {
		sx, sy := start%w, start/w
		if id[start] != 0 || dir[(sy+1)*ds+sx+1] != Pit {
			continue
		}
		c := z[(sy+2)*zs+sx+2]
		ff.f.reset()
		ff.cells = append(ff.cells[:0], int32(start))
		id[start] = 1
		crosses := false
		for q := 0; q < len(ff.cells); q++ {
			i := int(ff.cells[q])
			x, y := i%w, i/w
			zi, di := (y+2)*zs+x+2, (y+1)*ds+x+1
			high, low := false, int8(-1)
			for d := range 8 {
				n := z[zi+zo[d]]
				if n > c {
					high = true
				}
				if n != c {
					continue
				}
				if dir[di+do[d]] != Pit {
					if low < 0 {
						low = int8(d)
					}
					continue
				}
				nx, ny := x+dx[d], y+dy[d]
				if nx < 0 || ny < 0 || nx >= w || ny >= h {
					crosses = true
					continue
				}
				if j := ny*w + nx; id[j] == 0 {
					ff.cells = append(ff.cells, int32(j))
					id[j] = 1
				}
			}
			ff.f.high = append(ff.f.high, high)
			ff.f.low = append(ff.f.low, low)
		}
		if len(ff.cells) == 1 && !crosses && ff.f.low[0] < 0 {
			id[start] = -1
			continue // a pit of one cell
		}
		if crosses {
			for k, i := range ff.cells {
				x, y := int(i)%w, int(i)/w
				crossing = append(crossing, flatCell{int64(y0+y)*int64(mapW) + int64(x0+x), c, ff.f.high[k], ff.f.low[k]})
				id[i] = -1
			}
			continue
		}
		ff.sortCells(w)
		for k, i := range ff.cells {
			id[i] = int32(k) + 1
			ff.f.nbr = append(ff.f.nbr, noNeighbours)
		}
		for k, i := range ff.cells {
			x, y := int(i)%w, int(i)/w
			for d := range 8 {
				nx, ny := x+dx[d], y+dy[d]
				if nx >= 0 && ny >= 0 && nx < w && ny < h {
					if j := ny*w + nx; id[j] > 0 && z[(ny+2)*zs+nx+2] == c {
						ff.f.nbr[k][d] = id[j] - 1
					}
				}
			}
		}
		if cap(ff.dirs) < len(ff.cells) {
			ff.dirs = make([]uint8, 2*len(ff.cells))
		}
		ff.f.solve(ff.dirs[:len(ff.cells)])
		for k, i := range ff.cells {
			dir[(int(i)/w+1)*ds+int(i)%w+1] = ff.dirs[k]
			id[i] = -1
		}
	}
	return crossing
}

// sortCells brings the flat's cells into ascending index, its facts with them.
func (ff *flatFinder) sortCells(w int) {
	order := make([]int, len(ff.cells))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return ff.cells[order[a]] < ff.cells[order[b]] })
	cells := make([]int32, len(order))
	high := make([]bool, len(order))
	low := make([]int8, len(order))
	for k, o := range order {
		cells[k], high[k], low[k] = ff.cells[o], ff.f.high[o], ff.f.low[o]
	}
	copy(ff.cells, cells)
	copy(ff.f.high, high)
	copy(ff.f.low, low)
}

// resolveCrossing gives directions to the flats that cross tile edges, all at
// once. Memory and time follow the cells of those flats, some 70 bytes each: a
// lake with a level surface is one.
func resolveCrossing(cells []flatCell, dir *raster.Plane[uint8]) error {
	if len(cells) == 0 {
		return nil
	}
	slices.SortFunc(cells, func(a, b flatCell) int { return cmp.Compare(a.index, b.index) })
	w, _ := dir.Size()
	f := flat{nbr: make([][8]int32, len(cells)), high: make([]bool, len(cells)), low: make([]int8, len(cells))}
	for i, c := range cells {
		f.nbr[i] = noNeighbours
		f.high[i], f.low[i] = c.high, c.low
	}
	link := func(i, j, d int) {
		if cells[i].z == cells[j].z {
			f.nbr[i][d], f.nbr[j][(d+4)%8] = int32(j), int32(i)
		}
	}
	// Neighbours by walking two rows side by side: east, and the three of the
	// row below.
	below := 0
	for i, c := range cells {
		x := int(c.index % int64(w))
		if i+1 < len(cells) && x+1 < w && cells[i+1].index == c.index+1 {
			link(i, i+1, 0)
		}
		under := c.index + int64(w)
		for below < len(cells) && cells[below].index < under-1 {
			below++
		}
		for j := below; j < len(cells) && cells[j].index <= under+1; j++ {
			switch step := int(cells[j].index - under); {
			case step == 0:
				link(i, j, 2)
			case step == 1 && x+1 < w:
				link(i, j, 1)
			case step == -1 && x > 0:
				link(i, j, 3)
			}
		}
	}
	out := make([]uint8, len(cells))
	f.solve(out)
	for i := 0; i < len(cells); {
		j := i + 1 // a stretch of one row
		for j < len(cells) && cells[j].index == cells[j-1].index+1 && cells[j].index%int64(w) != 0 {
			j++
		}
		if err := dir.Write(int(cells[i].index%int64(w)), int(cells[i].index/int64(w)), j-i, 1, out[i:j]); err != nil {
			return err
		}
		i = j
	}
	return nil
}
