package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// Status is what became of a candidate.
type Status string

// A candidate entered the list, left it, or is on both with a better, a worse
// or the same rank.
const (
	Entered Status = "entered"
	Left    Status = "left"
	Rose    Status = "rose"
	Fell    Status = "fell"
	Stayed  Status = "stayed"
)

// LeastShare is the part of the smaller of two candidates that the other must
// hold for both to be the same one.
const LeastShare = 0.5

// span is a stretch of cells of one row, x1 not among them. Columns and rows
// count from the corner of run A's grid and may be negative.
type span struct{ y, x0, x1 int }

// matching is the candidates of both runs on A's grid, and which is which.
type matching struct {
	grid   raster.Frame
	a, b   [][]span
	ofA    []int // number in B of each candidate of A, -1 = none
	ofB    []int
	shared map[[2]int]int // cells that two candidates share
}

// match lays the candidates on A's grid and pairs those that share most cells
// first, each at most once. Of equal pairs the one with the better rank in A,
// then in B, comes first.
func match(a, b *Run) (*matching, error) {
	grid, err := a.frame()
	if err != nil {
		return nil, err
	}
	m := &matching{grid: grid, shared: map[[2]int]int{}}
	var boxes [2][]orb.Bound
	for i, r := range []*Run{a, b} {
		shapes, err := r.onGrid(grid)
		if err != nil {
			return nil, err
		}
		for k, s := range shapes {
			spans, err := cellsOf(grid, s)
			if err != nil {
				return nil, fmt.Errorf("run %s: candidate %d: %w", r.Label, r.Candidates[k].Rank, err)
			}
			if i == 0 {
				m.a = append(m.a, spans)
			} else {
				m.b = append(m.b, spans)
			}
			boxes[i] = append(boxes[i], s.Bound())
		}
	}
	type pair struct{ i, j, cells int }
	var pairs []pair
	var theirs []orb.Geometry
	for _, box := range boxes[1] {
		// A candidate smaller than a cell is laid on the cell around it.
		theirs = append(theirs, box.Pad(grid.Cell).ToPolygon())
	}
	index := vector.NewIndex(theirs)
	for i := range m.a {
		for _, j := range index.Search(boxes[0][i].Pad(grid.Cell)) {
			n := sharedCells(m.a[i], m.b[j])
			if n == 0 {
				continue
			}
			m.shared[[2]int{i, j}] = n
			if float64(n) >= LeastShare*float64(min(countCells(m.a[i]), countCells(m.b[j]))) {
				pairs = append(pairs, pair{i, j, n})
			}
		}
	}
	slices.SortFunc(pairs, func(p, q pair) int {
		return cmp.Or(-cmp.Compare(p.cells, q.cells), cmp.Compare(p.i, q.i), cmp.Compare(p.j, q.j))
	})
	m.ofA, m.ofB = none(len(m.a)), none(len(m.b))
	for _, p := range pairs {
		if m.ofA[p.i] < 0 && m.ofB[p.j] < 0 {
			m.ofA[p.i], m.ofB[p.j] = p.j, p.i
		}
	}
	return m, nil
}

func none(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = -1
	}
	return out
}

// onGrid gives the candidates' outlines in the grid's coordinate system.
func (r *Run) onGrid(grid raster.Frame) ([]orb.MultiPolygon, error) {
	to, err := vector.FromWGS84(grid.WKT)
	if err != nil {
		return nil, fmt.Errorf("run %s: %w", r.Label, err)
	}
	out := make([]orb.MultiPolygon, len(r.Candidates))
	for i, c := range r.Candidates {
		g, err := to.Geometry(orb.Clone(c.shape))
		if err != nil {
			return nil, fmt.Errorf("run %s: candidate %d cannot be laid on run A's grid: %w", r.Label, c.Rank, err)
		}
		out[i] = g.(orb.MultiPolygon)
	}
	return out, nil
}

// mostCells is the largest box of one candidate in cells.
const mostCells = 1 << 26

// cellsOf gives the cells whose centre lies in the shape, in order; of a shape
// that holds no centre the cell around the middle of its box.
func cellsOf(grid raster.Frame, shape orb.MultiPolygon) ([]span, error) {
	box := shape.Bound()
	col := func(e float64) float64 { return math.Floor((e - grid.X0) / grid.Cell) }
	row := func(n float64) float64 { return math.Floor((grid.Y0 - n) / grid.Cell) }
	x0, x1, y0, y1 := col(box.Min[0]), col(box.Max[0])+1, row(box.Max[1]), row(box.Min[1])+1
	if !(math.Abs(x0) < 1e9 && math.Abs(y0) < 1e9 && (x1-x0)*(y1-y0) <= mostCells) {
		return nil, fmt.Errorf("its box of %.0f × %.0f km is too large for cells of %g m; the outline is damaged, make the map again", (box.Max[0]-box.Min[0])/1000, (box.Max[1]-box.Min[1])/1000, grid.Cell)
	}
	f := grid.Cut(int(x0), int(y0), int(x1-x0), int(y1-y0))
	plane, err := raster.NewPlane[uint8](f.W, f.H, nil)
	if err != nil {
		return nil, err
	}
	if _, err := vector.FillPolygons(f, []orb.Geometry{shape}, 1, plane); err != nil {
		return nil, err
	}
	var out []span
	cells := plane.Mem()
	for y := range f.H {
		for x := 0; x < f.W; x++ {
			if cells[y*f.W+x] == 0 {
				continue
			}
			from := x
			for x < f.W && cells[y*f.W+x] != 0 {
				x++
			}
			out = append(out, span{int(y0) + y, int(x0) + from, int(x0) + x})
		}
	}
	if len(out) == 0 {
		mid := box.Center()
		x, y := int(col(mid[0])), int(row(mid[1]))
		out = []span{{y, x, x + 1}}
	}
	return out, nil
}

func countCells(s []span) int {
	n := 0
	for _, r := range s {
		n += r.x1 - r.x0
	}
	return n
}

// sharedCells counts the cells of two lists of spans, each in order.
func sharedCells(a, b []span) int {
	n, i, j := 0, 0, 0
	for i < len(a) && j < len(b) {
		p, q := a[i], b[j]
		if p.y != q.y {
			if p.y < q.y {
				i++
			} else {
				j++
			}
			continue
		}
		n += max(0, min(p.x1, q.x1)-max(p.x0, q.x0))
		if p.x1 < q.x1 {
			i++
		} else {
			j++
		}
	}
	return n
}
