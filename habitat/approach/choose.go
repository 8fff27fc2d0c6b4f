package approach

import (
	"math"
	"sync"

	"github.com/paulmach/orb"
)

// choice is a way to come to a patch: leave item at one place for one border
// point. bound is the least effort it can have.
type choice struct {
	bound  float64
	item   int32 // of the tree; with level ≥ 0 a room of that level
	border int32
	level  int8
	how    how
}

// how says where an item is left: at a node, or in the middle of a piece on
// the way from one of its nodes.
type how int8

const (
	whole how = iota // the item itself, its choices not yet looked at
	atU
	atV
	fromU
	fromV
	intoU // from the first node, as far as where the piece comes within reach
	intoV
	atStart
)

func (a choice) less(b choice) bool { return a.bound < b.bound }

// found is the best choice so far.
type found struct {
	choice
	effort    float64 // crossings counted
	crossings int
	leave     orb.Point
	entry     orb.Point // the border point, or leave when that is within reach of it
	node      int32     // the last node before leaving
	ok        bool
}

// better orders choices by effort, then start, node and border point.
func (a found) better(b found, origin []int32) bool {
	switch {
	case !b.ok || a.effort != b.effort:
		return !b.ok || a.effort < b.effort
	case origin[a.node] != origin[b.node]:
		return origin[a.node] < origin[b.node]
	case a.node != b.node:
		return a.node < b.node
	case a.border != b.border:
		return a.border < b.border
	}
	return a.how < b.how || a.how == b.how && a.item < b.item
}

var queues = sync.Pool{New: func() any { return new(heap[choice]) }}

// choose finds the choice of least effort among all border points and all
// places to leave: every node, and on every piece the place that would be best
// for that border point were there no obstacle. Rooms, pieces and legs wait in one
// queue by the least effort they can have, and a leg asks the ground only when it
// comes first; what is left in the queue then cannot be better (best-first search,
// Hjaltason & Samet 1999, "Distance browsing in spatial databases").
func (n *Network) choose(border outline) (best found, water, closed bool) {
	if len(n.tree.levels) == 0 {
		return best, false, false
	}
	box := orb.MultiPoint(border.points).Bound().Pad(border.reach)
	queue := queues.Get().(*heap[choice])
	*queue = (*queue)[:0]
	defer queues.Put(queue)
	top := len(n.tree.levels) - 1
	queue.push(choice{bound: n.tree.levels[top][0].floor, level: int8(top)})
	for len(*queue) > 0 {
		c := queue.pop()
		if best.ok && c.bound > best.effort {
			break
		}
		switch {
		case c.level >= 0:
			n.open(c, box, queue)
		case c.how == whole:
			n.legs(c, border, best, queue)
		default:
			f := found{choice: c, ok: true}
			b := border.points[c.border]
			f.node, f.leave = n.place(c, b, border.reach)
			f.entry = b
			if c.how == intoU || c.how == intoV || distance(b, f.leave) <= border.reach {
				f.entry = f.leave
			}
			w, shut := n.ground.Blocked(b, f.leave)
			water, closed = water || w, closed || shut
			if w || shut {
				continue
			}
			f.crossings = n.ground.Crossings(b, f.leave)
			f.effort = c.bound + n.o.CrossingM*float64(f.crossings)
			if f.better(best, n.origin) {
				best = f
			}
		}
	}
	return best, water, closed
}

// open puts what a room holds into the queue.
func (n *Network) open(c choice, box orb.Bound, queue *heap[choice]) {
	below, count := int(c.level)-1, len(n.tree.items)
	if below >= 0 {
		count = len(n.tree.levels[below])
	}
	for k := int(c.item) * fanOut; k < min((int(c.item)+1)*fanOut, count); k++ {
		next := choice{item: int32(k), level: int8(below)}
		var r room
		if below >= 0 {
			r = n.tree.levels[below][k]
		} else {
			next.item = n.tree.items[k]
			r = n.room(next.item)
		}
		if d := r.gap(box); d <= n.o.MaxStraightM {
			next.bound = r.floor + n.o.StraightFactor*d
			queue.push(next)
		}
	}
}

// legs puts every leg from an item to the border that may be the best into the queue.
func (n *Network) legs(c choice, border outline, best found, queue *heap[choice]) {
	offer := func(node int32, along float64, from orb.Point, k int, h how) {
		d := distance(from, border.points[k])
		switch {
		case h == fromU || h == fromV:
			if d <= border.reach {
				return // one has come to the patch before
			}
		case h == intoU || h == intoV || d <= border.reach:
			d = 0
		}
		bound := n.effort[node] + along + n.o.StraightFactor*d
		if d <= n.o.MaxStraightM && !math.IsInf(bound, 1) && !(best.ok && bound > best.effort) {
			queue.push(choice{bound: bound, item: c.item, border: int32(k), level: -1, how: h})
		}
	}
	if i := c.item - int32(len(n.pieces)); i >= 0 {
		for k := range border.points {
			offer(n.starts0+i, 0, n.starts[i].Point, k, atStart)
		}
		return
	}
	p := n.pieces[c.item]
	u, v := n.nodes[p.u], n.nodes[p.v]
	for k, b := range border.points {
		if p.flags&leaveU != 0 {
			offer(p.u, 0, u, k, atU)
		}
		if p.flags&leaveV != 0 {
			offer(p.v, 0, v, k, atV)
		}
		if p.flags&leaveMiddle == 0 {
			continue
		}
		if s, ok := n.aside(u, v, p.length, b); ok {
			offer(p.u, s, between(u, v, s/p.length), k, fromU)
		}
		if s, ok := n.aside(v, u, p.length, b); ok {
			offer(p.v, s, between(v, u, s/p.length), k, fromV)
		}
		if s, ok := into(u, v, p.length, b, border.reach); ok {
			offer(p.u, s, between(u, v, s/p.length), k, intoU)
		}
		if s, ok := into(v, u, p.length, b, border.reach); ok {
			offer(p.v, s, between(v, u, s/p.length), k, intoV)
		}
	}
}

// aside is where one who walks from u towards v should turn off to b: the effort
// s + F·√((s−p)² + h²), with b's foot at p and h beside the line, is least at
// s = p − h/√(F²−1). ok is false when that is not between u and v.
func (n *Network) aside(u, v orb.Point, length float64, b orb.Point) (s float64, ok bool) {
	ex, ey := (v[0]-u[0])/length, (v[1]-u[1])/length
	wx, wy := b[0]-u[0], b[1]-u[1]
	f := n.o.StraightFactor
	s = wx*ex + wy*ey
	if h := math.Abs(ex*wy - ey*wx); h > 0 {
		s -= h / math.Sqrt(f*f-1) // −Inf for F = 1: straight on is never worse than along
	}
	return s, s > 0 && s < length
}

// into is where one who walks from u towards v comes within reach of b. ok is
// false when that is not between u and v.
func into(u, v orb.Point, length float64, b orb.Point, reach float64) (s float64, ok bool) {
	ex, ey := (v[0]-u[0])/length, (v[1]-u[1])/length
	wx, wy := b[0]-u[0], b[1]-u[1]
	h := ex*wy - ey*wx
	if math.Abs(h) > reach {
		return 0, false
	}
	s = wx*ex + wy*ey - math.Sqrt(reach*reach-h*h)
	return s, s > 0 && s < length
}

// place gives the last node and the place where a choice leaves the network.
func (n *Network) place(c choice, b orb.Point, reach float64) (node int32, leave orb.Point) {
	if c.how == atStart {
		i := c.item - int32(len(n.pieces))
		return n.starts0 + i, n.starts[i].Point
	}
	p := n.pieces[c.item]
	node, far := p.u, p.v
	if c.how == atV || c.how == fromV || c.how == intoV {
		node, far = far, node
	}
	u, v := n.nodes[node], n.nodes[far]
	switch c.how {
	case fromU, fromV:
		s, _ := n.aside(u, v, p.length, b)
		return node, between(u, v, s/p.length)
	case intoU, intoV:
		s, _ := into(u, v, p.length, b, reach)
		return node, between(u, v, s/p.length)
	}
	return node, u
}
