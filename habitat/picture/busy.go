package picture

import (
	"image"
	"math"
)

// busy keeps account of the ground of the map that names have to keep off,
// in squares of a few pixels, so that asking costs the same however much is
// drawn.
type busy struct {
	r     image.Rectangle
	w, h  int
	taken []bool
}

const busySquare = 4 // pixels

func newBusy(r image.Rectangle) *busy {
	w, h := (r.Dx()+busySquare-1)/busySquare, (r.Dy()+busySquare-1)/busySquare
	return &busy{r: r, w: w, h: h, taken: make([]bool, w*h)}
}

// span gives the squares the box reaches into, cut to the map.
func (g *busy) span(b box) (x0, y0, x1, y1 int) {
	at := func(v float64, origin, n int) int {
		return int(min(max(math.Floor((v-float64(origin))/busySquare), -1), float64(n)))
	}
	return max(at(b.x0, g.r.Min.X, g.w), 0), max(at(b.y0, g.r.Min.Y, g.h), 0),
		min(at(b.x1, g.r.Min.X, g.w), g.w-1), min(at(b.y1, g.r.Min.Y, g.h), g.h-1)
}

func (g *busy) take(b box) {
	x0, y0, x1, y1 := g.span(b)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			g.taken[y*g.w+x] = true
		}
	}
}

// takeLine takes the squares along a segment.
func (g *busy) takeLine(a, b pt) {
	a, b, ok := clip(a, b, g.r, 0)
	if !ok {
		return
	}
	n := int(dist(a, b)/(busySquare/2)) + 1
	for k := range n + 1 {
		q := along(a, b, float64(k)/float64(n))
		g.take(box{q.x, q.y, q.x, q.y})
	}
}

// free says whether the box lies inside the map, on ground not taken.
func (g *busy) free(b box) bool {
	if b.x0 < float64(g.r.Min.X) || b.y0 < float64(g.r.Min.Y) || b.x1 > float64(g.r.Max.X) || b.y1 > float64(g.r.Max.Y) {
		return false
	}
	x0, y0, x1, y1 := g.span(b)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			if g.taken[y*g.w+x] {
				return false
			}
		}
	}
	return true
}
