package region

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// closeRings assembles the rings of every face from the arcs beside it.
//
// A ring keeps its face on the left, as seen on the map, and at a node takes
// the leftmost way on, which stays with the same cells. Where it comes back to
// a node, the loop since then becomes a ring of its own: so every ring is
// simple, and each 4-connected face has one shell, run counter-clockwise on the
// map, and holes, run clockwise, that touch each other at points at most.
func (t *Topology) closeRings(vs []vertex) {
	// The half that leaves each node in each direction.
	nodes := make([]int32, len(vs)) // number among the ends of arcs, plus one
	var out [][4]half
	for i, a := range t.arcs {
		for _, end := range [2]half{half(i), ^half(i)} {
			v := a.from
			p, q := a.points[0], a.points[1]
			if end < 0 {
				v = a.to
				p, q = a.points[len(a.points)-1], a.points[len(a.points)-2]
			}
			if nodes[v] == 0 {
				out = append(out, [4]half{})
				nodes[v] = int32(len(out))
			}
			out[nodes[v]-1][heading(p, q)] = end
		}
	}
	type ringOf struct {
		face, first, end int32
		shell            bool
	}
	var rings []ringOf
	done := [2][]bool{make([]bool, len(t.arcs)), make([]bool, len(t.arcs))}
	mark := func(h half) *bool {
		if h < 0 {
			return &done[1][^h]
		}
		return &done[0][h]
	}
	place := make([]int32, len(out)) // where on the path a node is, plus one
	var path []half
	close := func(f int32, loop []half) {
		var area2 int64
		for _, h := range loop {
			if h < 0 {
				area2 -= t.arcs[^h].area2
			} else {
				area2 += t.arcs[h].area2
			}
		}
		first := int32(len(t.halves))
		t.halves = append(t.halves, loop...)
		// y grows south: counter-clockwise on the map is a negative area here.
		rings = append(rings, ringOf{f, first, int32(len(t.halves)), area2 < 0})
	}
	for i := range t.arcs {
		for _, start := range [2]half{half(i), ^half(i)} {
			f := t.left(start)
			if f < 0 || *mark(start) {
				continue
			}
			path = path[:0]
			for h := start; !*mark(h); {
				*mark(h) = true
				from, to := t.ends(h)
				place[nodes[from]-1] = int32(len(path)) + 1
				path = append(path, h)
				k := nodes[to] - 1
				if p := place[k]; p > 0 {
					loop := path[p-1:]
					close(f, loop)
					for _, l := range loop {
						from, _ := t.ends(l)
						place[nodes[from]-1] = 0
					}
					path = path[:p-1]
				}
				h = t.turn(h, vs[to].next, out[k])
			}
			if len(path) > 0 {
				panic(fmt.Sprintf("region: the outline of face %d does not close", f))
			}
		}
	}
	// Shell first, then holes in the order found.
	slices.SortStableFunc(rings, func(a, b ringOf) int {
		switch {
		case a.face != b.face:
			return int(a.face - b.face)
		case a.shell == b.shell:
			return 0
		case a.shell:
			return -1
		}
		return 1
	})
	for _, r := range rings {
		f := &t.faces[r.face]
		if r.shell != (len(f.rings) == 0) {
			panic(fmt.Sprintf("region: face %d has not exactly one shell", r.face))
		}
		f.rings = append(f.rings, [2]int32{r.first, r.end})
	}
}

// turn is the leftmost half out of the node where h arrives.
func (t *Topology) turn(h half, next [4]int32, out [4]half) half {
	pts := t.arcs[h.arc()].points
	p, q := pts[len(pts)-2], pts[len(pts)-1]
	if h < 0 {
		p, q = pts[1], pts[0]
	}
	d := heading(p, q)
	for _, way := range [3]int{d + 3, d, d + 1} {
		if next[way%4] >= 0 {
			return out[way%4]
		}
	}
	panic("region: a border ends in nothing")
}

func (t *Topology) left(h half) int32 {
	if h < 0 {
		return t.arcs[^h].right
	}
	return t.arcs[h].left
}

func (t *Topology) ends(h half) (from, to int32) {
	if h < 0 {
		return t.arcs[^h].to, t.arcs[^h].from
	}
	return t.arcs[h].from, t.arcs[h].to
}

// heading is the direction from p to q, which share a column or a row.
func heading(p, q point) int {
	switch {
	case q.X > p.X:
		return east
	case q.Y > p.Y:
		return south
	case q.X < p.X:
		return west
	}
	return north
}

// Polygons is the outline of patch i as a valid OGC multipolygon in lattice
// coordinates: x in columns, y in rows growing south. With y taken as it is,
// exterior rings run clockwise and holes counter-clockwise; on the map, where
// north is up, that is exteriors counter-clockwise, as RFC 7946 wants.
// The first ring of each polygon is its exterior. A patch without cells gives
// an empty multipolygon.
func (t *Topology) Polygons(i int) orb.MultiPolygon {
	out := make(orb.MultiPolygon, 0, len(t.patches[i]))
	for _, f := range t.patches[i] {
		poly := make(orb.Polygon, 0, len(t.faces[f].rings))
		for _, r := range t.faces[f].rings {
			poly = append(poly, t.ring(t.halves[r[0]:r[1]]))
		}
		out = append(out, poly)
	}
	return out
}

func (t *Topology) ring(halves []half) orb.Ring {
	n := 1
	for _, h := range halves {
		n += len(t.line(h.arc())) - 1
	}
	ring := make(orb.Ring, 0, n)
	for _, h := range halves {
		line := t.line(h.arc())
		for k := range len(line) - 1 {
			p := line[k]
			if h < 0 {
				p = line[len(line)-1-k]
			}
			ring = append(ring, orb.Point{float64(p.X) / 2, float64(p.Y) / 2})
		}
	}
	return append(ring, ring[0])
}
