package vector

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// CellPath is the way of one line through the cells of a frame, in the line's
// own direction: row-major indexes (row·W + column), each a king's move from
// the one before. A line that leaves the frame and comes back has several.
type CellPath struct {
	Feature int // index of the geometry given
	Part    int // line within a MultiLineString
	Cells   []int
	Enters  bool // the line comes from outside at the first cell
	Leaves  bool // the line goes on outside after the last cell
}

// BurnLines gives the paths of LineStrings and MultiLineStrings (frame CRS)
// through the cells of f, in the order of the lines. Every cell of a path is
// one the line passes through; the cells of all vertices are on it, so that
// lines which share a vertex share a cell. Between vertices there is one cell
// for each column (or row, for the steeper lines), the one that holds the line
// at the column's middle.
func BurnLines(f raster.Frame, lines []orb.Geometry) ([]CellPath, error) {
	var out []CellPath
	for i, g := range lines {
		switch g := g.(type) {
		case orb.LineString:
			out = burn(f, g, i, 0, out)
		case orb.MultiLineString:
			for p, l := range g {
				out = burn(f, l, i, p, out)
			}
		case nil:
		default:
			return nil, fmt.Errorf("feature %d: %s where a line was expected", i, g.GeoJSONType())
		}
	}
	return out, nil
}

// walker collects the cells of the path being walked.
type walker struct {
	w, h  int
	cells []int
	x, y  int // last cell of cells
}

func burn(f raster.Frame, line orb.LineString, feature, part int, out []CellPath) []CellPath {
	w := walker{w: f.W, h: f.H}
	enters := false
	end := func(leaves bool) {
		if len(w.cells) > 0 {
			out = append(out, CellPath{feature, part, w.cells, enters, leaves})
			w.cells = nil
		}
	}
	if len(line) == 1 {
		line = orb.LineString{line[0], line[0]}
	}
	for i := 1; i < len(line); i++ {
		a, b := grid(f, line[i-1]), grid(f, line[i])
		if !finite([]orb.Point{a, b}) {
			end(false)
			continue
		}
		p, q, ok := w.clip(a, b)
		if !ok {
			end(true)
			continue
		}
		if p != a {
			end(true)
		}
		if len(w.cells) == 0 {
			enters = p != a || i > 1
			w.step(w.cell(p))
		}
		w.segment(p, q)
		if q != b {
			end(true)
		}
	}
	end(false)
	return out
}

// clip cuts the segment to the frame (Liang and Barsky 1984); ok is false when
// no part of it lies in a cell. Points on the outer south and east edges are
// outside, as in Frame.At.
func (w *walker) clip(a, b [2]float64) (p, q [2]float64, ok bool) {
	size := [2]float64{float64(w.w), float64(w.h)}
	t0, t1 := 0.0, 1.0
	for k := range 2 {
		d := b[k] - a[k]
		if d == 0 {
			if a[k] < 0 || a[k] >= size[k] {
				return p, q, false
			}
			continue
		}
		enter, leave := -a[k]/d, (size[k]-a[k])/d
		if d < 0 {
			enter, leave = leave, enter
		}
		t0, t1 = max(t0, enter), min(t1, leave)
	}
	// A segment that only touches the frame in one point does not count.
	if !(t0 <= t1) || (t0 == t1 && a != b) {
		return p, q, false
	}
	p, q = a, b
	for k := range 2 {
		if t0 > 0 {
			p[k] = min(max(a[k]+t0*(b[k]-a[k]), 0), size[k])
		}
		if t1 < 1 {
			q[k] = min(max(a[k]+t1*(b[k]-a[k]), 0), size[k])
		}
	}
	return p, q, true
}

// cell gives the cell of a point on the clipped line; the far edges belong to
// the last column and row.
func (w *walker) cell(p [2]float64) (x, y int) {
	return min(max(int(math.Floor(p[0])), 0), w.w-1), min(max(int(math.Floor(p[1])), 0), w.h-1)
}

func (w *walker) step(x, y int) {
	if n := len(w.cells); n > 0 && w.x == x && w.y == y {
		return
	}
	w.x, w.y = x, y
	w.cells = append(w.cells, y*w.w+x)
}

// segment walks from p, whose cell is the last one, to q.
func (w *walker) segment(p, q [2]float64) {
	major := 0
	if math.Abs(q[1]-p[1]) > math.Abs(q[0]-p[0]) {
		major = 1
	}
	minor := 1 - major
	px, py := w.cell(p)
	qx, qy := w.cell(q)
	from, to := [2]int{px, py}[major], [2]int{qx, qy}[major]
	dir := 1
	if to < from {
		dir = -1
	}
	at := p
	if from != to {
		slope := (q[minor] - p[minor]) / (q[major] - p[major])
		for c := from + dir; c != to; c += dir {
			var m [2]float64
			m[major] = float64(c) + 0.5
			m[minor] = p[minor] + (m[major]-p[major])*slope
			w.join(at, m)
			at = m
		}
	}
	w.join(at, q)
}

// join goes from a, whose cell is the last one, to b on a straight line, by
// halving it until neighbouring cells are a king's move apart. Cells two apart
// lie on points more than one unit apart, so the halving ends.
func (w *walker) join(a, b [2]float64) {
	x, y := w.cell(b)
	if max(abs(x-w.x), abs(y-w.y)) > 1 {
		if m := [2]float64{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2}; m != a && m != b {
			w.join(a, m)
			w.join(m, b)
			return
		}
	}
	w.step(x, y)
}

func abs(i int) int {
	if i < 0 {
		return -i
	}
	return i
}
