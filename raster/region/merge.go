package region

import (
	"cmp"
	"container/heap"
	"slices"
)

// border is a stretch of shared border: length cell sides with part to.
type border struct {
	to     int32
	length int32
}

// mergeSmall joins each part below minCells to the neighbour with the longest
// shared border, of its own kind, that it does not swell beyond 1.25·maxCells, the smallest part
// first, ties by position; parts without such a neighbour are dropped.
func mergeSmall(parts [][]Run, o Options) [][]Run {
	minCells, maxCells := o.MinCells, o.MaxCells
	if minCells <= 1 {
		return parts
	}
	size := make([]int, len(parts))
	var queue sizeQueue
	for i, p := range parts {
		size[i] = countCells(p)
		if size[i] < minCells {
			queue = append(queue, sized{size[i], int32(i)})
		}
	}
	if len(queue) == 0 {
		return parts
	}
	heap.Init(&queue)
	borders := sharedBorders(parts, func(i int32) bool { return size[i] < minCells })
	parent := make([]int32, len(parts))
	for i := range parent {
		parent[i] = int32(i)
	}
	find := func(i int32) int32 { return root(parent, i) }
	dropped := make([]bool, len(parts))
	fits := func(n int) bool { return maxCells < 1 || 4*n <= 5*maxCells }
	for len(queue) > 0 {
		s := heap.Pop(&queue).(sized)
		i := s.part
		if parent[i] != i || dropped[i] || s.cells != size[i] {
			continue // joined or grown since
		}
		// What it borders now, after the joins so far.
		now := borders[i][:0]
		for _, b := range borders[i] {
			if b.to = find(b.to); b.to != i && !dropped[b.to] {
				now = append(now, b)
			}
		}
		borders[i] = gather(now)
		best := border{to: -1}
		for _, b := range borders[i] {
			if o.kind(parts[b.to][0].Group) == o.kind(parts[i][0].Group) && fits(size[i]+size[b.to]) && b.length > best.length {
				best = b
			}
		}
		if best.to < 0 {
			dropped[i] = true
			continue
		}
		j := best.to
		parent[i] = j
		size[j] += size[i]
		if size[j] < minCells {
			borders[j] = append(borders[j], borders[i]...)
			heap.Push(&queue, sized{size[j], j})
		}
		borders[i] = nil
	}
	joined := make([][]Run, len(parts))
	grown := make([]bool, len(parts))
	for i, p := range parts {
		j := find(int32(i))
		if dropped[j] {
			continue
		}
		if int(j) != i {
			grown[j] = true
		}
		for _, r := range p {
			r.Group = parts[j][0].Group
			joined[j] = append(joined[j], r)
		}
	}
	out := joined[:0]
	for j, p := range joined {
		if len(p) == 0 {
			continue
		}
		if grown[j] {
			p = tidy(p)
		}
		out = append(out, p)
	}
	return out
}

// sharedBorders lists, for each part that is small, its neighbours and the
// number of cell sides shared with each.
func sharedBorders(parts [][]Run, small func(int32) bool) [][]border {
	all := tagged(parts, func(p []Run) []Run { return p })
	borders := make([][]border, len(parts))
	meet := func(a, b, length int32) {
		if a == b {
			return
		}
		if small(a) {
			borders[a] = append(borders[a], border{b, length})
		}
		if small(b) {
			borders[b] = append(borders[b], border{a, length})
		}
	}
	var above []Run
	rowsOf(all, func(y int32, row []Run) {
		for i := 1; i < len(row); i++ {
			if row[i-1].X1 == row[i].X0 {
				meet(row[i-1].Group, row[i].Group, 1)
			}
		}
		if len(above) > 0 && above[0].Y == y-1 {
			i, j := 0, 0
			for i < len(above) && j < len(row) {
				if n := min(above[i].X1, row[j].X1) - max(above[i].X0, row[j].X0); n > 0 {
					meet(above[i].Group, row[j].Group, n)
				}
				if above[i].X1 < row[j].X1 {
					i++
				} else {
					j++
				}
			}
		}
		above = row
	})
	for i := range borders {
		borders[i] = gather(borders[i])
	}
	return borders
}

// gather sorts borders by neighbour and adds up those with the same one.
func gather(b []border) []border {
	slices.SortFunc(b, func(a, b border) int { return cmp.Compare(a.to, b.to) })
	out := b[:0]
	for _, e := range b {
		if k := len(out) - 1; k >= 0 && out[k].to == e.to {
			out[k].length += e.length
			continue
		}
		out = append(out, e)
	}
	return out
}

type sized struct {
	cells int
	part  int32
}

type sizeQueue []sized

func (q sizeQueue) Len() int { return len(q) }
func (q sizeQueue) Less(i, j int) bool {
	return q[i].cells < q[j].cells || q[i].cells == q[j].cells && q[i].part < q[j].part
}
func (q sizeQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *sizeQueue) Push(x any)   { *q = append(*q, x.(sized)) }
func (q *sizeQueue) Pop() any {
	old := *q
	e := old[len(old)-1]
	*q = old[:len(old)-1]
	return e
}
