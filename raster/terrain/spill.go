package terrain

import (
	"slices"
)

// forest gives the minimum spanning forest of a graph with labels 0 … n-1
// (Kruskal J.B. 1956): the passes that matter. A pass left out here is the
// highest of some ring of passes, so it can matter in no larger graph either.
func forest(passes []pass, n int, buf *[]int32) []pass {
	sorted := slices.Clone(passes)
	slices.SortFunc(sorted, func(p, q pass) int {
		if p.less(q) {
			return -1
		}
		return 1
	})
	u := newUnion(n, buf)
	kept := sorted[:0]
	for _, p := range sorted {
		if u.join(p.la, p.lb) {
			kept = append(kept, p)
		}
	}
	return slices.Clip(kept)
}

type union []int32

func newUnion(n int, buf *[]int32) union {
	if buf == nil {
		buf = new([]int32)
	}
	if cap(*buf) < n {
		*buf = make([]int32, n)
	}
	*buf = (*buf)[:n]
	for i := range *buf {
		(*buf)[i] = int32(i)
	}
	return union(*buf)
}

func (u union) find(i int32) int32 {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

// join tells whether the two were apart.
func (u union) join(a, b int32) bool {
	a, b = u.find(a), u.find(b)
	if a == b {
		return false
	}
	// The smaller label stands for both, so that outside stays outside.
	if a > b {
		a, b = b, a
	}
	u[b] = a
	return true
}

// spillGraph joins the tiles' basins.
type spillGraph struct {
	mapW, mapH int
	tiles      []basinTile
	base       []int32 // label l of tile t is base[t]+l in the graph; outside is 0
	root       []int32 // of each label: exits lead to the basin beyond
	// For each label that is a root other than outside: the pass water leaves
	// by (from is on this basin's side) and the level it must rise to.
	from, to []int64
	level    []float32
}

// global label of a tile's label.
func (g *spillGraph) global(tile int, l int32) int32 {
	if l <= 0 {
		return l
	}
	return g.base[tile] + l
}

// join builds the graph and finds for each basin the way out. tileOf finds the tile of a cell.
func (g *spillGraph) join(tileOf func(x, y int) int, zAt func(tile, x, y int) (float32, int32)) {
	n := int32(1)
	g.base = make([]int32, len(g.tiles))
	for i := range g.tiles {
		g.base[i] = n - 1
		n += g.tiles[i].n
	}
	labelAt := func(c int64) int32 {
		x, y := int(c%int64(g.mapW)), int(c/int64(g.mapW))
		t := tileOf(x, y)
		_, l := zAt(t, x, y)
		return g.global(t, l)
	}
	// Exits first: chains of exits end in a pit or outside, since water only
	// runs down.
	alias := make([]int32, n)
	for i := range alias {
		alias[i] = int32(i)
	}
	for i := range g.tiles {
		for k, l := range g.tiles[i].exits {
			alias[g.base[i]+l] = labelAt(g.tiles[i].target[k])
		}
	}
	for i := range alias {
		r := int32(i)
		for alias[r] != r {
			r = alias[r]
		}
		for j := int32(i); alias[j] != r && j != r; {
			alias[j], j = r, alias[j]
		}
	}
	g.root = alias

	var table passTable
	table.reset()
	put := func(p pass) {
		p.la, p.lb = alias[p.la], alias[p.lb]
		if p.la == p.lb {
			return
		}
		if p.la > p.lb {
			p.la, p.lb, p.a, p.b = p.lb, p.la, p.b, p.a
		}
		table.put(p)
	}
	for i := range g.tiles {
		for _, p := range g.tiles[i].passes {
			p.la, p.lb = g.global(i, p.la), g.global(i, p.lb)
			put(p)
		}
	}
	for i := range g.tiles {
		bt := &g.tiles[i]
		perimeter{bt.tile.W, bt.tile.H}.each(func(k, x, y int) {
			if bt.rim[k] < 0 {
				return
			}
			for d := range 4 { // E, SE, S, SW: each pair once
				nx, ny := x+dx[d], y+dy[d]
				if nx >= 0 && ny >= 0 && nx < bt.tile.W && ny < bt.tile.H {
					continue
				}
				nx, ny = nx+bt.tile.X, ny+bt.tile.Y
				if nx < 0 || ny < 0 || nx >= g.mapW || ny >= g.mapH {
					continue
				}
				t := tileOf(nx, ny)
				z, l := zAt(t, nx, ny)
				if l < 0 {
					continue
				}
				put(pass{max(z, bt.rimZ[k]), g.global(i, bt.rim[k]), g.global(t, l),
					int64(bt.tile.Y+y)*int64(g.mapW) + int64(bt.tile.X+x), int64(ny)*int64(g.mapW) + int64(nx)})
			}
		})
	}
	tree := forest(table.all(), int(n), nil)
	g.drain(tree, n)
}

// drain walks the tree from outside inwards.
func (g *spillGraph) drain(tree []pass, n int32) {
	first := make([]int32, n+1) // adjacency in compressed rows
	for _, p := range tree {
		first[p.la+1]++
		first[p.lb+1]++
	}
	for i := int32(0); i < n; i++ {
		first[i+1] += first[i]
	}
	adj := make([]int32, 2*len(tree))
	next := slices.Clone(first[:n])
	for k, p := range tree {
		adj[next[p.la]] = int32(k)
		next[p.la]++
		adj[next[p.lb]] = int32(k)
		next[p.lb]++
	}
	g.from, g.to = make([]int64, n), make([]int64, n)
	g.level = make([]float32, n)
	seen := make([]bool, n)
	seen[outside] = true
	queue := []int32{outside}
	for q := 0; q < len(queue); q++ {
		l := queue[q]
		for _, k := range adj[first[l]:first[l+1]] {
			p := tree[k]
			child, from, to := p.la, p.a, p.b
			if child == l {
				child, from, to = p.lb, p.b, p.a
			}
			if seen[child] {
				continue
			}
			seen[child] = true
			g.from[child], g.to[child] = from, to
			g.level[child] = p.z
			if l != outside && g.level[l] > p.z {
				g.level[child] = g.level[l]
			}
			queue = append(queue, child)
		}
	}
}
