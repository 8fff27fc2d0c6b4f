package region

import (
	"cmp"
	"slices"
)

// Run is a stretch of cells of row Y, columns X0 up to but without X1. Cells of
// different groups are never one patch.
type Run struct {
	Y, X0, X1 int32
	Group     int32
}

func (r Run) cells() int { return int(r.X1 - r.X0) }

func compareRuns(a, b Run) int {
	if c := cmp.Compare(a.Y, b.Y); c != 0 {
		return c
	}
	return cmp.Compare(a.X0, b.X0)
}

func countCells(runs []Run) int {
	n := 0
	for _, r := range runs {
		n += r.cells()
	}
	return n
}

// Label finds the 8-connected components among runs of equal group. runs are
// sorted by Y, then X0, and do not overlap. label[i] is the component of run i;
// components are numbered 0 … n−1 by first appearance.
func Label(runs []Run) (label []int32, n int) { return components(runs, 1) }

// LabelSides is Label for 4-connected components: cells that touch at a corner
// only are apart.
func LabelSides(runs []Run) (label []int32, n int) { return components(runs, 0) }

// components is Label with a reach of 1 for 8-connected, 0 for 4-connected
// components: union-find over runs, each joined to those of the row above.
func components(runs []Run, reach int32) (label []int32, n int) {
	parent := make([]int32, len(runs))
	above, aboveEnd := 0, 0 // runs of the row above
	row := 0                // first run of this row
	for i, r := range runs {
		parent[i] = int32(i)
		if i > row && runs[row].Y != r.Y {
			above, aboveEnd = row, i
			row = i
		}
		if i > row && runs[i-1].X1 == r.X0 && runs[i-1].Group == r.Group {
			join(parent, int32(i), int32(i-1))
		}
		if above == aboveEnd || runs[above].Y != r.Y-1 {
			continue
		}
		for above < aboveEnd && runs[above].X1+reach <= r.X0 {
			above++
		}
		for k := above; k < aboveEnd && runs[k].X0 < r.X1+reach; k++ {
			if runs[k].Group == r.Group {
				join(parent, int32(i), int32(k))
			}
		}
	}
	// The root is the first run of its component, so one pass numbers them.
	for i, p := range parent {
		if int(p) == i {
			parent[i] = int32(n)
			n++
		} else {
			parent[i] = parent[p]
		}
	}
	return parent, n
}

// join makes the smaller root the root of both.
func join(parent []int32, a, b int32) {
	a, b = root(parent, a), root(parent, b)
	if a < b {
		parent[b] = a
	} else {
		parent[a] = b
	}
}

func root(parent []int32, i int32) int32 {
	for parent[i] != i {
		parent[i] = parent[parent[i]]
		i = parent[i]
	}
	return i
}

// split hands out runs by label, each part in the order of runs.
func split(runs []Run, label []int32, n int) [][]Run {
	end := make([]int, n+1)
	for _, l := range label {
		end[l+1]++
	}
	for i := range n {
		end[i+1] += end[i]
	}
	all := make([]Run, len(runs))
	at := slices.Clone(end[:n])
	for i, r := range runs {
		all[at[label[i]]] = r
		at[label[i]]++
	}
	parts := make([][]Run, n)
	for i := range parts {
		parts[i] = all[end[i]:end[i+1]:end[i+1]]
	}
	return parts
}

// pieces are the 8-connected components of runs, in order of first appearance.
func pieces(runs []Run) [][]Run {
	label, n := Label(runs)
	if n == 1 {
		return [][]Run{runs}
	}
	return split(runs, label, n)
}

// tidy sorts runs and joins those that touch, in place. They must not overlap.
func tidy(runs []Run) []Run {
	sortRuns(runs)
	out := runs[:0]
	for _, r := range runs {
		if k := len(out) - 1; k >= 0 && out[k].Y == r.Y && out[k].X1 == r.X0 && out[k].Group == r.Group {
			out[k].X1 = r.X1
			continue
		}
		out = append(out, r)
	}
	return out
}

// sortRuns sorts by Y, then X0: by counting rows where there are many runs for
// the rows they span, as in all runs of a map, then inside each row.
func sortRuns(runs []Run) {
	if slices.IsSortedFunc(runs, compareRuns) {
		return
	}
	y0, y1 := runs[0].Y, runs[0].Y
	for _, r := range runs {
		y0, y1 = min(y0, r.Y), max(y1, r.Y)
	}
	if len(runs) < 64 || int(y1)-int(y0) > len(runs) {
		slices.SortFunc(runs, compareRuns)
		return
	}
	first := make([]int32, y1-y0+2)
	for _, r := range runs {
		first[r.Y-y0+1]++
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	from := slices.Clone(runs)
	for _, r := range from {
		runs[first[r.Y-y0]] = r
		first[r.Y-y0]++
	}
	rowsOf(runs, func(_ int32, row []Run) {
		slices.SortFunc(row, func(a, b Run) int { return cmp.Compare(a.X0, b.X0) })
	})
}

// tagged gathers the runs of all parts, sorted, with the part's number as group.
func tagged[P any](parts []P, runsOf func(P) []Run) []Run {
	n := 0
	for _, p := range parts {
		n += len(runsOf(p))
	}
	all := make([]Run, 0, n)
	for i, p := range parts {
		for _, r := range runsOf(p) {
			r.Group = int32(i)
			all = append(all, r)
		}
	}
	sortRuns(all)
	return all
}

// rowsOf calls f for each row of sorted runs.
func rowsOf(runs []Run, f func(y int32, row []Run)) {
	for i := 0; i < len(runs); {
		j := i + 1
		for j < len(runs) && runs[j].Y == runs[i].Y {
			j++
		}
		f(runs[i].Y, runs[i:j])
		i = j
	}
}
