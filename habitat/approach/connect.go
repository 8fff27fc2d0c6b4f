package approach

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// number gives each place a node and makes the pieces of the ways. It gives the
// length (m) of what is not walked, for each reason.
func (n *Network) number(l *lines, cuts []cut) (shutM [shutReasons]float64) {
	total := 0
	for _, c := range cuts {
		total += len(c.marks)
	}
	ids := make(map[orb.Point]int32, total)
	n.pieces = make([]piece, 0, total)
	var mayLeave []bool
	node := func(p orb.Point) int32 {
		id, ok := ids[p]
		if !ok {
			id = int32(len(n.nodes))
			ids[p] = id
			n.nodes = append(n.nodes, p)
			mayLeave = append(mayLeave, false)
		}
		return id
	}
	for w, c := range cuts {
		bridge := l.ways[w].Bridge
		u := node(c.at[0])
		for i, m := range c.marks {
			v := node(c.at[i+1])
			length := distance(c.at[i], c.at[i+1])
			if m.shut != notShut {
				shutM[m.shut] += length
				u = v
				continue
			}
			p := piece{u: u, v: v, crossings: m.crossings, length: length}
			// One does not leave a bridge but at its ends, nor a path in the water.
			if !bridge && !m.wet && m.crossings == 0 {
				p.flags = leaveMiddle
			}
			if !bridge || i == 0 {
				mayLeave[u] = true
			}
			if !bridge || i == len(c.marks)-1 {
				mayLeave[v] = true
			}
			n.pieces = append(n.pieces, p)
			u = v
		}
	}
	n.starts0, n.ids = int32(len(n.nodes)), ids
	n.offerNodes(mayLeave)
	return shutM
}

// offerNodes lets each node be offered as a place to leave by one piece only.
func (n *Network) offerNodes(mayLeave []bool) {
	for i := range n.pieces {
		p := &n.pieces[i]
		if mayLeave[p.u] {
			mayLeave[p.u] = false
			p.flags |= leaveU
		}
		if mayLeave[p.v] {
			mayLeave[p.v] = false
			p.flags |= leaveV
		}
	}
}

// connect adds starts and links, and counts the streams that nodes lie on.
func (n *Network) connect(ctx context.Context, links []link) error {
	for _, s := range n.starts {
		n.nodes = append(n.nodes, s.Point)
	}
	first := len(n.pieces)
	for _, k := range links {
		b, ok := n.ids[k.b]
		if !ok {
			continue // the way is not walked there
		}
		a := n.starts0 + k.start
		if k.start < 0 {
			if a, ok = n.ids[k.a]; !ok {
				continue
			}
		}
		p := piece{u: a, v: b, length: distance(k.a, k.b)}
		if k.off {
			p.flags |= offPath
		}
		if k.bridged {
			p.flags |= bridged
		}
		n.pieces = append(n.pieces, p)
	}
	n.ids = nil
	err := raster.Parallel(ctx, n.o.Workers, (len(n.pieces)-first+chunk-1)/chunk, func(_, k int) error {
		for i := first + k*chunk; i < min(first+(k+1)*chunk, len(n.pieces)); i++ {
			p := &n.pieces[i]
			if p.flags&bridged != 0 {
				continue
			}
			p.crossings = int32(n.ground.Crossings(n.nodes[p.u], n.nodes[p.v]))
		}
		return nil
	})
	if err != nil {
		return err
	}
	n.touch = make([]uint8, len(n.nodes))
	seen := make([]bool, len(n.nodes))
	for _, p := range n.pieces {
		if p.crossings == 0 {
			continue
		}
		for _, v := range [2]int32{p.u, p.v} {
			if !seen[v] {
				seen[v] = true
				n.touch[v] = uint8(min(n.ground.Crossings(n.nodes[v], n.nodes[v]), math.MaxUint8))
			}
		}
	}
	n.arcs = newArcs(len(n.nodes), n.pieces)
	return nil
}

// crossed is how many streams one crosses on piece p towards node to. A stream
// that passes through a node is counted by the piece one leaves it on, so that it
// counts once on any walk.
func (n *Network) crossed(p piece, to int32) int32 {
	return max(p.crossings-int32(n.touch[to]), 0)
}

// weight is the effort of piece p towards node to.
func (n *Network) weight(p piece, to int32) float64 {
	w := p.length
	if p.flags&offPath != 0 {
		w *= n.o.StraightFactor
	}
	return w + n.o.CrossingM*float64(n.crossed(p, to))
}
