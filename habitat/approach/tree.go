package approach

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// tree finds the places from which a patch may be reached with the least
// effort. It is a tree of boxes packed along a Hilbert curve (Kamel & Faloutsos
// 1994, "Hilbert R-tree"), each with the least effort inside it: an index that
// knows distance alone would look at every path near by, whatever it costs to
// come there.
type tree struct {
	items  []int32  // pieces, then (len(pieces) + i) start i, in the order of the curve
	levels [][]room // levels[0] holds fanOut items a room, the last is one room
}

// room is a box with the least effort to anything in it.
type room struct {
	lo, hi orb.Point
	floor  float64
}

const fanOut = 16

// plant builds the tree over all places that a start leads to.
func (n *Network) plant() {
	var items []int32
	for i, p := range n.pieces {
		if p.flags&(leaveMiddle|leaveU|leaveV) != 0 && !math.IsInf(min(n.effort[p.u], n.effort[p.v]), 1) {
			items = append(items, int32(i))
		}
	}
	for i, s := range n.starts {
		if finite(s.Point) {
			items = append(items, int32(len(n.pieces)+i))
		}
	}
	if len(items) == 0 {
		return
	}
	all := room{floor: math.Inf(1), lo: orb.Point{math.Inf(1), math.Inf(1)}, hi: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, i := range items {
		all.grow(n.room(i))
	}
	side := max(all.hi[0]-all.lo[0], all.hi[1]-all.lo[1], 1)
	keys := make([]uint64, len(items))
	for k, i := range items {
		r := n.room(i)
		x := ((r.lo[0]+r.hi[0])/2 - all.lo[0]) / side * 65535
		y := ((r.lo[1]+r.hi[1])/2 - all.lo[1]) / side * 65535
		keys[k] = uint64(hilbert(uint32(x), uint32(y)))<<32 | uint64(uint32(i))
	}
	slices.Sort(keys)
	for k, key := range keys {
		items[k] = int32(uint32(key))
	}
	n.tree.items = items
	level := pack(len(items), func(k int) room { return n.room(items[k]) })
	for {
		n.tree.levels = append(n.tree.levels, level)
		if len(level) == 1 {
			return
		}
		below := level
		level = pack(len(below), func(k int) room { return below[k] })
	}
}

func pack(count int, at func(k int) room) []room {
	out := make([]room, 0, (count+fanOut-1)/fanOut)
	for k := 0; k < count; k += fanOut {
		r := at(k)
		for j := k + 1; j < min(k+fanOut, count); j++ {
			r.grow(at(j))
		}
		out = append(out, r)
	}
	return out
}

func (r *room) grow(o room) {
	for k := range 2 {
		r.lo[k], r.hi[k] = min(r.lo[k], o.lo[k]), max(r.hi[k], o.hi[k])
	}
	r.floor = min(r.floor, o.floor)
}

// room is the box of one item.
func (n *Network) room(item int32) room {
	if i := int(item) - len(n.pieces); i >= 0 {
		p := n.starts[i].Point
		return room{p, p, n.effort[n.starts0+int32(i)]}
	}
	p := n.pieces[item]
	a, b := n.nodes[p.u], n.nodes[p.v]
	return room{
		orb.Point{min(a[0], b[0]), min(a[1], b[1])},
		orb.Point{max(a[0], b[0]), max(a[1], b[1])},
		min(n.effort[p.u], n.effort[p.v]),
	}
}

// gap is the distance between two boxes, 0 when they meet.
func (r room) gap(b orb.Bound) float64 {
	dx := max(r.lo[0]-b.Max[0], 0, b.Min[0]-r.hi[0])
	dy := max(r.lo[1]-b.Max[1], 0, b.Min[1]-r.hi[1])
	return math.Sqrt(dx*dx + dy*dy)
}

// hilbert is the place of (x, y), both below 65536, along the Hilbert curve
// (Hilbert 1891; the loop is the textbook one, quadrant by quadrant).
func hilbert(x, y uint32) uint32 {
	var d uint32
	for s := uint32(1 << 15); s > 0; s >>= 1 {
		rx, ry := min(x&s, 1), min(y&s, 1)
		d += s * s * (3*rx ^ ry)
		if ry == 0 {
			if rx == 1 {
				x, y = 65535-x, 65535-y
			}
			x, y = y, x
		}
	}
	return d
}
