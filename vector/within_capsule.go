package vector

import (
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// capsule is the ground within reach of a straight side: two half discs and
// the rectangle between them. It is convex, so that a row of cell centres
// meets it in one run of columns.
type capsule struct {
	f          raster.Frame
	a, b       orb.Point
	vx, vy     float64 // from a to b
	length2    float64
	reach      float64
	squares    bool    // take the cells whose square meets the side, instead of centres within reach
	pad        float64 // no centre farther than this from the side's box can be taken
	slack      float64 // more than what roundings can do to a place, far less than a cell
	first, end int     // rows that may have a cell: first … end−1
}

func newCapsule(f raster.Frame, a, b orb.Point, reach float64, squares bool) capsule {
	c := capsule{f: f, a: a, b: b, vx: b[0] - a[0], vy: b[1] - a[1], reach: reach, squares: squares}
	c.length2 = c.vx*c.vx + c.vy*c.vy
	c.slack = 1e-6*f.Cell + 1e-14*max(math.Abs(f.X0), math.Abs(f.Y0)) + 1e-12*reach
	c.pad = reach + c.slack
	if squares {
		c.pad = f.Cell/2 + c.slack
	}
	north, south := max(a[1], b[1])+c.pad, min(a[1], b[1])-c.pad
	c.first = place(math.Ceil((f.Y0-north)/f.Cell-0.5), f.H)
	c.end = place(math.Floor((f.Y0-south)/f.Cell-0.5)+1, f.H)
	return c
}

// place makes a whole number of cells, cut to 0 … n before it becomes one.
func place(v float64, n int) int { return int(min(max(v, 0), float64(n))) }

// columns gives the cells of row y that are taken: from … to−1. The run is
// worked out a little too long and its ends are then settled one by one.
func (c *capsule) columns(y int) (from, to int) {
	_, n := c.f.Center(0, y)
	west, east := c.run(n)
	if !(west <= east) {
		return 0, 0
	}
	from = place(math.Ceil((west-c.slack-c.f.X0)/c.f.Cell-0.5), c.f.W)
	to = place(math.Floor((east+c.slack-c.f.X0)/c.f.Cell-0.5)+1, c.f.W)
	holds := c.holdsCentre
	if c.squares {
		holds = c.meetsSquare
	}
	for from < to && !holds(from, y) {
		from++
	}
	for from < to && !holds(to-1, y) {
		to--
	}
	return from, to
}

// run gives the eastings between which the centres at northing n are taken,
// none when the first is larger.
func (c *capsule) run(n float64) (west, east float64) {
	ya, yb := n-c.a[1], n-c.b[1]
	if c.squares {
		// The part of the side within half a cell of n, half a cell wider.
		t0, t1 := between(0, 1, c.vy, ya-c.pad, ya+c.pad)
		if !(t0 <= t1) {
			return 1, 0
		}
		x0, x1 := c.a[0]+t0*c.vx, c.a[0]+t1*c.vx
		return min(x0, x1) - c.pad, max(x0, x1) + c.pad
	}
	west, east = math.Inf(1), math.Inf(-1)
	if d := c.pad*c.pad - ya*ya; d >= 0 {
		d = math.Sqrt(d)
		west, east = c.a[0]-d, c.a[0]+d
	}
	if d := c.pad*c.pad - yb*yb; d >= 0 {
		d = math.Sqrt(d)
		west, east = min(west, c.b[0]-d), max(east, c.b[0]+d)
	}
	if c.length2 > 0 {
		// x east of a: |x·vy − ya·vx| ≤ pad·length and 0 ≤ x·vx + ya·vy ≤ length².
		wide := c.pad * math.Sqrt(c.length2)
		x0, x1 := between(math.Inf(-1), math.Inf(1), c.vy, ya*c.vx-wide, ya*c.vx+wide)
		x0, x1 = between(x0, x1, c.vx, -ya*c.vy, c.length2-ya*c.vy)
		if x0 <= x1 {
			west, east = min(west, c.a[0]+x0), max(east, c.a[0]+x1)
		}
	}
	return west, east
}

// between narrows lo … hi to the x with from ≤ k·x ≤ to.
func between(lo, hi, k, from, to float64) (float64, float64) {
	if k == 0 {
		if from > 0 || to < 0 {
			return 1, 0
		}
		return lo, hi
	}
	p, q := from/k, to/k
	return max(lo, min(p, q)), min(hi, max(p, q))
}

// holdsCentre tells whether the centre of a cell lies within reach.
func (c *capsule) holdsCentre(x, y int) bool {
	e, n := c.f.Center(x, y)
	wx, wy := e-c.a[0], n-c.a[1]
	along := wx*c.vx + wy*c.vy
	if along > 0 && along < c.length2 {
		across := wx*c.vy - wy*c.vx
		return across*across <= c.reach*c.reach*c.length2
	}
	if along > 0 {
		wx, wy = e-c.b[0], n-c.b[1]
	}
	return wx*wx+wy*wy <= c.reach*c.reach
}

// meetsSquare tells whether the side meets a cell's square, edge included: the
// boxes meet and the square is not wholly to one side of the line.
func (c *capsule) meetsSquare(x, y int) bool {
	west, north := c.f.Corner(float64(x), float64(y))
	east, south := c.f.Corner(float64(x+1), float64(y+1))
	if max(c.a[0], c.b[0]) < west || min(c.a[0], c.b[0]) > east || max(c.a[1], c.b[1]) < south || min(c.a[1], c.b[1]) > north {
		return false
	}
	left, right := false, false
	for _, p := range [4]orb.Point{{west, north}, {east, north}, {east, south}, {west, south}} {
		across := (p[0]-c.a[0])*c.vy - (p[1]-c.a[1])*c.vx
		left, right = left || across <= 0, right || across >= 0
	}
	return left && right
}
