package walking

import (
	"context"
	"math"

	"github.com/paulmach/orb"
)

// Reach is the least time between one node and all others.
type Reach struct {
	net     *Net
	toward  bool      // times to the node rather than from it
	seconds []float32 // +Inf = no way, or beyond the limit
	before  []int32   // the node before on the way (after, when toward); −1 = none
	how     []kind    // what the edge between them is
}

// Place finds the node nearest to a point from which one may set out: a cell
// that is open, or a vertex of a way, within 300 m and with no stream between.
func (w *Net) Place(p orb.Point) (node int32, metres float64, ok bool) {
	const reach = 300
	f := w.g.Frame
	best := math.Inf(1)
	offer := func(v int32, q orb.Point) {
		if d := math.Hypot(p[0]-q[0], p[1]-q[1]); d < best && d <= reach && (w.o.Wade || w.streams.Crossings(p, q) == 0) {
			best, node = d, v
		}
	}
	for v, q := range w.points {
		if len(w.edges[v]) > 0 {
			offer(int32(f.Cells()+v), q)
		}
	}
	k := int(reach/f.Cell) + 1
	cx, cy := int(math.Floor((p[0]-f.X0)/f.Cell)), int(math.Floor((f.Y0-p[1])/f.Cell))
	for y := max(0, cy-k); y <= min(f.H-1, cy+k); y++ {
		for x := max(0, cx-k); x <= min(f.W-1, cx+k); x++ {
			if w.open(y*f.W + x) {
				e, n := f.Center(x, y)
				offer(int32(y*f.W+x), orb.Point{e, n})
			}
		}
	}
	return node, best, !math.IsInf(best, 1)
}

// Point is where a node lies.
func (w *Net) Point(node int32) orb.Point {
	f := w.g.Frame
	if i := int(node) - f.Cells(); i >= 0 {
		return w.points[i]
	}
	e, n := f.Center(int(node)%f.W, int(node)/f.W)
	return orb.Point{e, n}
}

func (w *Net) height(node int32) float64 {
	if i := int(node) - w.g.Frame.Cells(); i >= 0 {
		return w.rises[i]
	}
	return float64(w.g.Height[node])
}

// From works out all times from a node, or to it, up to a limit of seconds;
// it stops early when all of until (nil for none) are known.
func (w *Net) From(ctx context.Context, node int32, toward bool, limit float64, until []int32) (*Reach, error) {
	all := w.g.Frame.Cells() + len(w.points)
	r := &Reach{net: w, toward: toward, seconds: make([]float32, all), before: make([]int32, all), how: make([]kind, all)}
	for i := range r.seconds {
		r.seconds[i], r.before[i] = float32(math.Inf(1)), -1
	}
	left := map[int32]bool{}
	for _, u := range until {
		left[u] = true
	}
	r.seconds[node] = 0
	q := queue{{0, node}}
	settled := 0
	for len(q) > 0 && (until == nil || len(left) > 0) {
		top := q.pop()
		if top.seconds > r.seconds[top.node] {
			continue
		}
		if settled++; settled%65536 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		delete(left, top.node)
		w.neighbours(top.node, func(to int32, how kind, metres float64) {
			if r.seconds[to] <= top.seconds {
				return
			}
			t := top.seconds + float32(w.edgeSeconds(top.node, to, how, metres, toward))
			if t < r.seconds[to] && float64(t) <= limit {
				r.seconds[to], r.before[to], r.how[to] = t, top.node, how
				q.push(item{t, to})
			}
		})
	}
	return r, nil
}

// neighbours are the nodes one may go to from a node.
// metres is how far they are, 0 where that is not at hand.
func (w *Net) neighbours(node int32, visit func(to int32, how kind, metres float64)) {
	f := w.g.Frame
	if i := int(node) - f.Cells(); i >= 0 {
		for _, e := range w.edges[i] {
			visit(e.to, e.how, 0)
		}
		return
	}
	x, y := int(node)%f.W, int(node)/f.W
	for k := range moves {
		if to, ok := w.step(x, y, k); ok {
			visit(int32(to), offPath, w.lengths[k])
		}
	}
	for _, v := range w.cells[node] {
		visit(int32(f.Cells())+v, offPath, 0)
	}
}

func (w *Net) edgeSeconds(a, b int32, how kind, d float64, toward bool) float64 {
	if d == 0 {
		p, q := w.Point(a), w.Point(b)
		if d = math.Hypot(p[0]-q[0], p[1]-q[1]); d == 0 {
			return 0
		}
	}
	rise := w.height(b) - w.height(a)
	if rise != rise {
		rise = 0 // heights end at the map's edge, roads do not
	}
	if toward {
		rise = -rise
	}
	if how != offPath {
		return w.paths.of(d, rise)
	}
	return w.off.of(d, rise)
}

// Seconds is the time to (or from) a node, +Inf where there is no way.
func (r *Reach) Seconds(node int32) float64 { return float64(r.seconds[node]) }

// item waits in the queue of the search; ties go by node, so that the way is
// the same each time.
type item struct {
	seconds float32
	node    int32
}

func (a item) before(b item) bool {
	return a.seconds < b.seconds || a.seconds == b.seconds && a.node < b.node
}

// queue is a binary heap; the library's boxes every item.
type queue []item

func (q *queue) push(x item) {
	*q = append(*q, x)
	h := *q
	for i := len(h) - 1; i > 0; {
		up := (i - 1) / 2
		if !h[i].before(h[up]) {
			break
		}
		h[i], h[up] = h[up], h[i]
		i = up
	}
}

func (q *queue) pop() item {
	h := *q
	top, n := h[0], len(h)-1
	h[0] = h[n]
	h = h[:n]
	*q = h
	for i := 0; ; {
		c := 2*i + 1
		if c >= n {
			break
		}
		if c+1 < n && h[c+1].before(h[c]) {
			c++
		}
		if !h[c].before(h[i]) {
			break
		}
		h[i], h[c] = h[c], h[i]
		i = c
	}
	return top
}
