package region

import (
	"cmp"
	"math"
	"slices"
)

// Patch is ground a person can scout in one go: cells that hang together (8-connected).
type Patch struct {
	ID   int   // its place in the list it came in, from 0
	Runs []Run // sorted by Y, then X0; no two touch
}

// Cells is the number of cells.
func (p Patch) Cells() int { return countCells(p.Runs) }

// Bounds gives the first column and row, and the column and row after the last.
// A patch without cells has all four zero.
func (p Patch) Bounds() (x0, y0, x1, y1 int) {
	if len(p.Runs) == 0 {
		return 0, 0, 0, 0
	}
	x0, x1 = math.MaxInt, math.MinInt
	for _, r := range p.Runs {
		x0, x1 = min(x0, int(r.X0)), max(x1, int(r.X1))
	}
	return x0, int(p.Runs[0].Y), x1, int(p.Runs[len(p.Runs)-1].Y) + 1
}

// Options say what is a good patch. Zero means no limit.
type Options struct {
	MinCells  int   // smaller pieces join a neighbour or are dropped
	MaxCells  int   // larger ones are cut
	MinHole   int   // enclosed background of fewer cells is filled
	Forbidden []Run // ground not to be filled, sorted by Y, then X0, not overlapping; Group -1 keeps every patch out, k ≥ 0 all but those of kind k
	// Kinds parts the groups for good, as owners part the ground: groups g with
	// the same g mod Kinds are of one kind, and no patch joins or takes in
	// ground of another. 0 is 1: all of a kind. Groups are then at least 0.
	Kinds int32
}

// kind is the kind of a group.
func (o Options) kind(group int32) int32 {
	if o.Kinds < 2 {
		return 0
	}
	return group % o.Kinds
}

// Scoutable turns candidate cells into patches:
//
//   - cells of one group that touch, also at corners, are one patch;
//   - background enclosed by one patch is filled when it has fewer than MinHole
//     cells (keep-out cells count, yet stay out);
//   - hairs one cell wide go: only cells inside some 2×2 block of the patch stay
//     (morphological opening);
//   - patches above MaxCells are cut across their principal axis, where they are
//     narrowest, until none is larger;
//   - pieces below MinCells join the neighbour, of any group, with which they
//     share the longest border, among those of their kind that stay within
//     1.25·MaxCells, and are dropped when there is none.
//
// runs are sorted by Y, then X0, and do not overlap. Patches come in the order
// of their first run. Work is n log n in the number of runs and cut pieces;
// memory follows them, never the map. The same runs give the same patches.
func Scoutable(runs []Run, o Options) []Patch {
	if len(runs) == 0 {
		return nil
	}
	taken := newRowIndex(runs)
	keepOut := newRowIndex(o.Forbidden)
	var parts [][]Run
	for _, p := range pieces(runs) {
		p = tidy(slices.Clone(p))
		if o.MinHole > 0 {
			own := int32(-2) // keep-out ground of every sort stays out
			if o.Kinds > 1 {
				own = o.kind(p[0].Group)
			}
			p = fillHoles(p, o.MinHole, own, taken, keepOut)
		}
		p = open2(p)
		if len(p) == 0 {
			continue
		}
		for _, q := range pieces(p) {
			parts = cut(parts, q, o.MaxCells)
		}
	}
	parts = mergeSmall(parts, o)
	slices.SortFunc(parts, func(a, b []Run) int { return compareRuns(a[0], b[0]) })
	out := make([]Patch, len(parts))
	for i, p := range parts {
		out[i] = Patch{ID: i, Runs: p}
	}
	return out
}

// rowIndex finds the runs of a row that meet a stretch of columns.
type rowIndex struct {
	runs  []Run
	y0    int32
	first []int32 // first run of row y0+i
}

func newRowIndex(runs []Run) rowIndex {
	if len(runs) == 0 {
		return rowIndex{}
	}
	y0 := runs[0].Y
	first := make([]int32, int(runs[len(runs)-1].Y-y0)+2)
	for _, r := range runs {
		first[r.Y-y0+1]++
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	return rowIndex{runs: runs, y0: y0, first: first}
}

// meet gives the runs of row y that share a column with x0 … x1−1.
func (r rowIndex) meet(y, x0, x1 int32) []Run {
	i := int(y) - int(r.y0)
	if i < 0 || i >= len(r.first)-1 {
		return nil
	}
	row := r.runs[r.first[i]:r.first[i+1]]
	a, _ := slices.BinarySearchFunc(row, x0, func(e Run, x int32) int {
		return cmp.Compare(e.X1, x+1) // first run that ends after x0
	})
	b := a
	for b < len(row) && row[b].X0 < x1 {
		b++
	}
	return row[a:b]
}
