package region

import "fmt"

// point is a place on the cell lattice in half cells: (2x, 2y) is the
// north-west corner of cell (x, y). x grows east, y grows south.
type point struct{ X, Y int32 }

// Topology is the outlines of a set of patches as arcs, each stored once and
// shared by the two faces beside it, so that neighbours keep a common border
// whatever is done to it. A face is a 4-connected part of a patch; the outside
// is face −1. Two parts of one patch that touch at a corner only are two
// polygons of one multipolygon.
type Topology struct {
	arcs    []arc
	faces   []face
	patches [][]int32 // faces of each patch
	halves  []half    // of all rings, one after the other
	simple  [][]point // per arc, nil while nothing has been simplified
}

// arc is a border between two faces from node to node, or all around when it
// meets no node. Only corners are kept. left and right are as seen on the map,
// north up, going from the first point to the last.
type arc struct {
	points      []point
	left, right int32
	from, to    int32 // vertex numbers of its ends; equal when closed
	ring        bool  // closed, without a node
	area2       int64 // Σ x·y' − x'·y over its segments, in quarters of a cell
}

type face struct {
	patch int32
	rings [][2]int32 // stretches of halves; the first ring is the shell
}

// half is an arc run forward, or backward when it is negative (^arc).
type half int32

func (h half) arc() int32 {
	if h < 0 {
		return int32(^h)
	}
	return int32(h)
}

// Directions out of a lattice point, clockwise on the map.
const (
	east = iota
	south
	west
	north
)

// vertex is a lattice point where the border turns or branches.
type vertex struct {
	at   point
	face [4]int32 // of the cells NE, SE, SW, NW: the one left of going east, south, west, north
	next [4]int32 // vertex met going that way, −1 when there is no border
	used uint8    // directions already walked out of
}

func (v *vertex) degree() int {
	n := 0
	for _, w := range v.next {
		if w >= 0 {
			n++
		}
	}
	return n
}

// Trace finds the outlines of patches, whose cells must not overlap. It visits
// only places where a border turns or branches.
func Trace(patches []Patch) *Topology {
	t := &Topology{patches: make([][]int32, len(patches))}
	runs := tagged(patches, func(p Patch) []Run { return p.Runs })
	runs = tidy(runs)
	for i := 1; i < len(runs); i++ {
		if a, b := runs[i-1], runs[i]; a.Y == b.Y && b.X0 < a.X1 {
			panic(fmt.Sprintf("region: patches %d and %d overlap in row %d, column %d", a.Group, b.Group, b.Y, b.X0))
		}
	}
	// Faces, numbered by first appearance.
	label, n := components(runs, 0)
	t.faces = make([]face, n)
	for i, l := range label {
		t.faces[l].patch = runs[i].Group
		runs[i].Group = l
	}
	for i, f := range t.faces {
		t.patches[f.patch] = append(t.patches[f.patch], int32(i))
	}
	vs := vertices(runs)
	t.cutArcs(vs)
	t.closeRings(vs)
	return t
}

// brink is a place in a row of cells where the face changes: the face from
// there on, and the last vertex on the border above.
type brink struct{ x, face, vertex int32 }

func brinks(dst []brink, row []Run) []brink {
	for _, r := range row {
		if k := len(dst) - 1; k >= 0 && dst[k].x == r.X0 {
			dst[k].face = r.Group
		} else {
			dst = append(dst, brink{x: r.X0, face: r.Group})
		}
		dst = append(dst, brink{x: r.X1, face: -1})
	}
	return dst
}

// vertices sweeps the lattice from north to south. Runs carry faces.
func vertices(runs []Run) []vertex {
	vs := make([]vertex, 0, 2*len(runs)+4)
	var upper, lower []brink
	cross := func(y int32) { // lattice row y: upper is cell row y−1, lower is cell row y
		nw, sw, pending := int32(-1), int32(-1), int32(-1)
		i, j := 0, 0
		for i < len(upper) || j < len(lower) {
			var x int32
			if j == len(lower) || i < len(upper) && upper[i].x <= lower[j].x {
				x = upper[i].x
			} else {
				x = lower[j].x
			}
			ne, se := nw, sw
			var up, down *brink
			if i < len(upper) && upper[i].x == x {
				up = &upper[i]
				ne = up.face
				i++
			}
			if j < len(lower) && lower[j].x == x {
				down = &lower[j]
				se = down.face
				j++
			}
			if nw == sw && ne == se {
				down.vertex = up.vertex // straight down
				nw, sw = ne, se
				continue
			}
			k := int32(len(vs))
			v := vertex{at: point{2 * x, 2 * y}, face: [4]int32{ne, se, sw, nw}, next: [4]int32{-1, -1, -1, -1}}
			if nw != ne {
				v.next[north] = up.vertex
				vs[up.vertex].next[south] = k
			}
			if nw != sw {
				v.next[west] = pending
				vs[pending].next[east] = k
			}
			if sw != se {
				down.vertex = k
			}
			pending = k
			vs = append(vs, v)
			nw, sw = ne, se
		}
	}
	var last int32
	rowsOf(runs, func(y int32, row []Run) {
		if len(upper) > 0 && last != y-1 {
			lower = lower[:0]
			cross(last + 1)
			upper = upper[:0]
		}
		lower = brinks(lower[:0], row)
		cross(y)
		upper, lower = lower, upper
		last = y
	})
	if len(upper) > 0 {
		lower = lower[:0]
		cross(last + 1)
	}
	return vs
}

// cutArcs walks every border once: first from the nodes, then the closed ones,
// both in the order of vertices.
func (t *Topology) cutArcs(vs []vertex) {
	store := make([]point, 0, len(vs)+len(vs)/8+8)
	walk := func(v int32, dir int) {
		a := arc{left: vs[v].face[dir], right: vs[v].face[(dir+1)%4], from: v}
		first := len(store)
		p := vs[v].at
		store = append(store, p)
		for at := v; ; {
			vs[at].used |= 1 << dir
			to := vs[at].next[dir]
			back := (dir + 2) % 4
			vs[to].used |= 1 << back
			q := vs[to].at
			store = append(store, q)
			a.area2 += int64(p.X)*int64(q.Y) - int64(q.X)*int64(p.Y)
			p, at = q, to
			if to == v || vs[to].degree() > 2 {
				a.to = to
				a.ring = vs[to].degree() == 2
				break
			}
			for d := range 4 {
				if d != back && vs[to].next[d] >= 0 {
					dir = d
				}
			}
		}
		a.points = store[first:len(store):len(store)]
		t.arcs = append(t.arcs, a)
	}
	for _, nodes := range [2]bool{true, false} {
		for i := range vs {
			if (vs[i].degree() > 2) != nodes {
				continue
			}
			for d := range 4 {
				if vs[i].next[d] >= 0 && vs[i].used&(1<<d) == 0 {
					walk(int32(i), d)
				}
			}
		}
	}
	// The store may have moved while it grew: older arcs then keep the old one
	// alive. Clip them all to the same final array.
	at := 0
	for i := range t.arcs {
		n := len(t.arcs[i].points)
		t.arcs[i].points = store[at : at+n : at+n]
		at += n
	}
}

// Size gives the number of arcs and of their points, after simplification if
// there was one.
func (t *Topology) Size() (arcs, points int) {
	for i := range t.arcs {
		points += len(t.line(int32(i)))
	}
	return len(t.arcs), points
}

// line is the arc's points as they stand.
func (t *Topology) line(a int32) []point {
	if t.simple != nil {
		return t.simple[a]
	}
	return t.arcs[a].points
}
