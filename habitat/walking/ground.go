package walking

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/approach"
	"rillwood/raster"
)

// Why a cell is not walked on. Several may hold.
const (
	Water uint8 = 1 << iota
	Closed
	KeepOut
	Private
)

// Ground is what there is to walk on, all in the frame's metres.
type Ground struct {
	Frame   raster.Frame
	Height  []float32      // of each cell, m; NaN = none, and not walked on
	Bars    []uint8        // what bars each cell; 0 = nothing
	Streams []orb.Geometry // lines that are not crossed off a bridge
	Ways    []approach.Way // paths and roads
}

// Options say how one walks.
type Options struct {
	Pace Pace
	Wade bool // streams may be crossed anywhere; open water never
}

// Limits on paths, as habitat/approach has them: a path without a bridge is
// not walked where it runs in water for longer, nor in closed ground, since
// borders are off by a cell; through strips to keep out of, such as a railway's,
// mapped paths lead across. Roads are taken to be public, with bridges. Common
// practice, no source.
const (
	wetPathM    = 30
	closedPathM = 30
	stripPathM  = 120
)

// The sixteen directions: neighbours, then a knight's moves, which bring
// straight lines to within 3 % of their length (8 % with eight).
var moves = [16][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}, {-1, 0}, {-1, -1}, {0, -1}, {1, -1},
	{2, 1}, {1, 2}, {-1, 2}, {-2, 1}, {-2, -1}, {-1, -2}, {1, -2}, {2, -1}}

// Net is ground ready to be walked. It may be used by several goroutines.
type Net struct {
	g       Ground
	o       Options
	walls   []uint16 // directions barred by streams, a bit each
	streams *approach.StreamIndex
	off     paceTable
	paths   paceTable
	lengths [16]float64

	points []orb.Point // of the vertices of ways
	rises  []float64   // their heights
	edges  [][]edge    // of vertices: to cells and vertices
	cells  map[int32][]int32
}

// edge leads to a node: a cell, or the vertex node − cells.
type edge struct {
	to  int32
	how kind
}

// kind is how an edge is walked.
type kind uint8

const (
	offPath kind = iota
	path
	ford // a path through a stream
)

// New makes a net. Planes that do not fit the frame are a fault of the caller.
func New(g Ground, o Options) (*Net, error) {
	n := g.Frame.Cells()
	if len(g.Height) != n || len(g.Bars) != n {
		panic(fmt.Sprintf("walking: %d heights and %d bars for %d cells", len(g.Height), len(g.Bars), n))
	}
	for _, v := range []float64{o.Pace.PathKmh, o.Pace.OffKmh} {
		if !(v >= 0.1 && v <= 20) {
			return nil, fmt.Errorf("a walking speed of %g km/h; give one from 0.1 to 20", v)
		}
	}
	w := &Net{g: g, o: o, streams: approach.NewStreamIndex(g.Streams), off: newPaceTable(o.Pace.OffKmh), paths: newPaceTable(o.Pace.PathKmh), cells: map[int32][]int32{}}
	for k, m := range moves {
		w.lengths[k] = math.Hypot(float64(m[0]), float64(m[1])) * g.Frame.Cell
	}
	w.walls = make([]uint16, n)
	if !o.Wade {
		for _, s := range g.Streams {
			switch l := s.(type) {
			case orb.LineString:
				w.wall(l)
			case orb.MultiLineString:
				for _, part := range l {
					w.wall(part)
				}
			}
		}
	}
	w.layWays()
	return w, nil
}

// open tells whether one may stand on a cell.
func (w *Net) open(cell int) bool {
	h := w.g.Height[cell]
	return w.g.Bars[cell] == 0 && h == h
}

// wall bars every move between centres that a line crosses or touches.
func (w *Net) wall(line orb.LineString) {
	f := w.g.Frame
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		// Pieces of a few cells, so that boxes stay small.
		steps := max(1, int(math.Hypot(b[0]-a[0], b[1]-a[1])/(4*f.Cell)))
		for s := range steps {
			w.wallPiece(along(a, b, float64(s)/float64(steps)), along(a, b, float64(s+1)/float64(steps)))
		}
	}
}

func along(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

func (w *Net) wallPiece(a, b orb.Point) {
	f := w.g.Frame
	x0, y0 := (min(a[0], b[0])-f.X0)/f.Cell-2.5, (f.Y0-max(a[1], b[1]))/f.Cell-2.5
	x1, y1 := (max(a[0], b[0])-f.X0)/f.Cell+2.5, (f.Y0-min(a[1], b[1]))/f.Cell+2.5
	if !(x1 >= 0 && y1 >= 0 && x0 < float64(f.W) && y0 < float64(f.H)) {
		return
	}
	for y := max(0, int(y0)); y <= min(f.H-1, int(y1)); y++ {
		for x := max(0, int(x0)); x <= min(f.W-1, int(x1)); x++ {
			ce, cn := f.Center(x, y)
			for k, m := range moves {
				e, n := ce+float64(m[0])*f.Cell, cn-float64(m[1])*f.Cell
				if meets(orb.Point{ce, cn}, orb.Point{e, n}, a, b) {
					w.walls[y*f.W+x] |= 1 << k
				}
			}
		}
	}
}

// meets tells whether two segments cross or touch.
func meets(a, b, c, d orb.Point) bool {
	side := func(p, q, r orb.Point) float64 { return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0]) }
	on := func(p, q, r orb.Point) bool {
		return min(p[0], q[0]) <= r[0] && r[0] <= max(p[0], q[0]) && min(p[1], q[1]) <= r[1] && r[1] <= max(p[1], q[1])
	}
	s1, s2, s3, s4 := side(c, d, a), side(c, d, b), side(a, b, c), side(a, b, d)
	if (s1 > 0) != (s2 > 0) && (s3 > 0) != (s4 > 0) && s1 != 0 && s2 != 0 && s3 != 0 && s4 != 0 {
		return true
	}
	return s1 == 0 && on(c, d, a) || s2 == 0 && on(c, d, b) || s3 == 0 && on(a, b, c) || s4 == 0 && on(a, b, d)
}

// step tells whether one may go from a cell in a direction, and where to. No
// move squeezes between two barred cells.
func (w *Net) step(x, y, k int) (cell int, ok bool) {
	f := w.g.Frame
	m := moves[k]
	nx, ny := x+m[0], y+m[1]
	if nx < 0 || ny < 0 || nx >= f.W || ny >= f.H || w.walls[y*f.W+x]>>k&1 != 0 {
		return 0, false
	}
	if cell = ny*f.W + nx; !w.open(cell) {
		return 0, false
	}
	switch {
	case k >= 8: // the two cells a knight's move passes between
		hx, hy := m[0]/2, m[1]/2
		return cell, w.open((y+hy)*f.W+x+hx) && w.open((ny-hy)*f.W+nx-hx)
	case k&1 == 1:
		return cell, w.open(y*f.W+nx) && w.open(ny*f.W+x)
	}
	return cell, true
}

// heightAt is the height between the four nearest centres.
func (w *Net) heightAt(p orb.Point) float64 {
	f := w.g.Frame
	fx, fy := (p[0]-f.X0)/f.Cell-0.5, (f.Y0-p[1])/f.Cell-0.5
	x, y := math.Floor(fx), math.Floor(fy)
	sum, weight := 0.0, 0.0
	for dy := range 2 {
		for dx := range 2 {
			cx, cy := int(x)+dx, int(y)+dy
			if cx < 0 || cy < 0 || cx >= f.W || cy >= f.H {
				continue
			}
			h := float64(w.g.Height[cy*f.W+cx])
			if k := (1 - math.Abs(fx-float64(cx))) * (1 - math.Abs(fy-float64(cy))); h == h && k > 0 {
				sum, weight = sum+k*h, weight+k
			}
		}
	}
	if weight == 0 {
		return math.NaN()
	}
	return sum / weight
}
