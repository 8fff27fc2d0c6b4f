package terrain

import (
	"math"

	"rillwood/raster"
)

// between is where a fine cell's middle lies among the middles of coarse
// cells: in a fine cell's row or column, the first of two coarse cells and the
// weight of the second. The first cell is kept inside, the second may equal it.
type between struct {
	a, b int
	t    float64
}

// amid places fine cell i among n coarse cells, each k fine cells wide.
func amid(i, k, n int) between {
	f := (float64(i)+0.5)/float64(k) - 0.5
	f = min(max(f, 0), float64(n-1))
	a := int(f)
	return between{a, min(a+1, n-1), f - float64(a)}
}

// sampler brings a coarse plane back to the map's cells in one tile, bilinear
// between the coarse cells' middles. Missing coarse cells are left out of the
// mean; NaN where all four are missing.
type sampler struct {
	cells    []float32 // the coarse cells the tile needs
	x0, y0   int       // the first of them
	w, k, h  int
	cols     []between // by the tile's columns, from x0 on
	up, down []float32 // the two coarse rows of the row at hand
	ty       float64
	mix      []float64
}

// read takes in the coarse cells of p, k map cells wide, that tile t needs.
func (s *sampler) read(p *raster.Plane[float32], k int, t raster.Tile) error {
	w, h := p.Size()
	s.k, s.h = k, h
	s.x0, s.y0 = amid(t.X, k, w).a, amid(t.Y, k, h).a
	s.w = amid(t.X+t.W-1, k, w).b + 1 - s.x0
	rows := amid(t.Y+t.H-1, k, h).b + 1 - s.y0
	s.cells, s.mix, s.cols = grown(s.cells, s.w*rows), grown(s.mix, s.w), grown(s.cols, t.W)
	for x := range s.cols {
		c := amid(t.X+x, k, w)
		s.cols[x] = between{c.a - s.x0, c.b - s.x0, c.t}
	}
	return p.Read(s.x0, s.y0, s.w, rows, s.cells)
}

// row turns to the map's row y.
func (s *sampler) row(y int) {
	r := amid(y, s.k, s.h)
	s.up, s.down, s.ty = s.cells[(r.a-s.y0)*s.w:][:s.w], s.cells[(r.b-s.y0)*s.w:][:s.w], r.t
	for i, v := range s.up {
		s.mix[i] = float64(v) + r.t*(float64(s.down[i])-float64(v))
	}
}

// at gives the value at the tile's column x.
func (s *sampler) at(x int) float64 {
	c := &s.cols[x]
	a := s.mix[c.a]
	if v := a + c.t*(s.mix[c.b]-a); v == v {
		return v
	}
	return s.amongGaps(c)
}

func (s *sampler) amongGaps(c *between) float64 {
	sum, weight := 0.0, 0.0
	add := func(v float32, w float64) {
		if v == v && w > 0 {
			sum += w * float64(v)
			weight += w
		}
	}
	add(s.up[c.a], (1-c.t)*(1-s.ty))
	add(s.up[c.b], c.t*(1-s.ty))
	add(s.down[c.a], (1-c.t)*s.ty)
	add(s.down[c.b], c.t*s.ty)
	if weight == 0 {
		return math.NaN()
	}
	return sum / weight
}
