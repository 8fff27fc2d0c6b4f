package approach

import (
	"context"
	"math"
)

// arcs lists the pieces at each node: those of node v are list[from[v]] …
// list[from[v+1]].
type arcs struct {
	from []int32
	list []int32
}

func newArcs(nodes int, pieces []piece) arcs {
	a := arcs{make([]int32, nodes+1), make([]int32, 2*len(pieces))}
	for _, p := range pieces {
		a.from[p.u+1]++
		a.from[p.v+1]++
	}
	for v := range nodes {
		a.from[v+1] += a.from[v]
	}
	next := append([]int32(nil), a.from...)
	for i, p := range pieces {
		for _, v := range [2]int32{p.u, p.v} {
			a.list[next[v]] = int32(i)
			next[v]++
		}
	}
	return a
}

// waiting is a node in the queue, with an effort found for it.
type waiting struct {
	effort      float64
	start, node int32
}

func (a waiting) less(b waiting) bool {
	if a.effort != b.effort {
		return a.effort < b.effort
	}
	if a.start != b.start {
		return a.start < b.start
	}
	return a.node < b.node
}

// follow finds the least effort from any start to every node: Dijkstra (1959),
// "A note on two problems in connexion with graphs", with all starts in the queue
// at nought. Of equal ways the one from the lower start counts, then the one by
// the lower node.
func (n *Network) follow(ctx context.Context) error {
	n.effort = make([]float64, len(n.nodes))
	n.origin = make([]int32, len(n.nodes))
	n.before = make([]int32, len(n.nodes))
	for v := range n.nodes {
		n.effort[v], n.origin[v], n.before[v] = math.Inf(1), -1, -1
	}
	done := make([]bool, len(n.nodes))
	var queue heap[waiting]
	for i, s := range n.starts {
		if v := n.starts0 + int32(i); finite(s.Point) {
			n.effort[v], n.origin[v] = 0, int32(i)
			queue.push(waiting{0, int32(i), v})
		}
	}
	for count := 0; len(queue) > 0; count++ {
		if count%65536 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		w := queue.pop()
		u := w.node
		if done[u] {
			continue
		}
		done[u] = true
		for _, i := range n.arcs.list[n.arcs.from[u]:n.arcs.from[u+1]] {
			p := n.pieces[i]
			v := p.other(u)
			if done[v] {
				continue
			}
			e := w.effort + n.weight(p, v)
			switch {
			case e < n.effort[v] || e == n.effort[v] && w.start < n.origin[v]:
				n.effort[v], n.origin[v], n.before[v] = e, w.start, i
				queue.push(waiting{e, w.start, v})
			case e == n.effort[v] && w.start == n.origin[v] && u < n.pieces[n.before[v]].other(v):
				n.before[v] = i
			}
		}
	}
	return nil
}
