package vector

import (
	"math/bits"
	"slices"

	"rillwood/raster"
)

// claims is a band of rows whose cells are given away, each to the first that
// takes it.
type claims struct {
	w, rows int
	words   int // of taken, for one row
	taken   []uint64
	cells   []uint8
	y0      int // the row the band begins at
	n       int // cells taken in all bands so far
}

func newClaims(w, rows int) *claims {
	words := (w + 63) / 64
	return &claims{w: w, rows: rows, words: words}
}

// begin goes on to rows y0 … y1−1 of dst.
func (c *claims) begin(dst *raster.Plane[uint8], y0, y1 int) error {
	if c.taken == nil {
		c.taken, c.cells = make([]uint64, c.rows*c.words), make([]uint8, c.rows*c.w)
	}
	clear(c.taken)
	c.y0 = y0
	return dst.Read(0, y0, c.w, y1-y0, c.cells[:(y1-y0)*c.w])
}

// take writes v into the cells of columns from … to−1 of row y that nobody has
// taken. Sides that follow each other reach over mostly the same cells: full
// words are stepped over.
func (c *claims) take(y, from, to int, v uint8) {
	taken := c.taken[(y-c.y0)*c.words : (y-c.y0+1)*c.words]
	row := c.cells[(y-c.y0)*c.w : (y-c.y0+1)*c.w]
	for i := from / 64; i*64 < to; i++ {
		free := ^taken[i]
		if s := from - i*64; s > 0 {
			free &= ^uint64(0) << s
		}
		if s := to - i*64; s < 64 {
			free &= 1<<s - 1
		}
		taken[i] |= free
		c.n += bits.OnesCount64(free)
		if free == ^uint64(0) {
			part := row[i*64 : i*64+64]
			for x := range part {
				part[x] = v
			}
			continue
		}
		for ; free != 0; free &= free - 1 {
			row[i*64+bits.TrailingZeros64(free)] = v
		}
	}
}

// spans calls take for each run of columns, from … to−1, whose centres lie
// inside the polygon, on rows y0 … y1−1, which must follow those of the call before.
func (p *fill) spans(y0, y1, w int, take func(y, from, to int)) {
	for y := max(y0, p.edges[0].r0); y < min(y1, p.last); y++ {
		p.active = slices.DeleteFunc(p.active, func(e edge) bool { return e.r1 <= y })
		for p.next < len(p.edges) && p.edges[p.next].r0 <= y {
			p.active = append(p.active, p.edges[p.next])
			p.next++
		}
		p.xs = p.xs[:0]
		for _, e := range p.active {
			p.xs = append(p.xs, e.x0+(float64(y)+0.5-e.y0)*e.dx)
		}
		slices.Sort(p.xs)
		for i := 0; i+1 < len(p.xs); i += 2 {
			if from, to := column(p.xs[i], w), column(p.xs[i+1], w); from < to {
				take(y, from, to)
			}
		}
	}
}
