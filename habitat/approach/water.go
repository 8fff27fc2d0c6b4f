package approach

import (
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Bits of a cell of a WaterPlane.
const (
	WaterBit  uint8 = 1 << iota // open water
	ClosedBit                   // closed to the public
)

// WaterPlane answers Ground.Blocked for cells of a frame.
type WaterPlane struct {
	Frame  raster.Frame
	Cell   func(x, y int) uint8 // WaterBit and ClosedBit of a cell inside the frame; called from several goroutines
	Beyond uint8                // the same for all that lies beyond the frame
}

const (
	// A leg that only starts or ends on the edge of a cell does not pass through
	// it: outlines of patches run along cell edges, often those of water.
	endTrim = 1e-6 // of a cell's side
	// A leg that passes a corner touches all four cells, so that none slips
	// between two cells of water that meet at a corner.
	cornerSlack = 1e-9 // of a cell's side
)

// Blocked tests every cell that the leg a–b passes through or touches between
// its ends, from a to b, and stops at the first with a bit set. These are the
// cells of Amanatides & Woo (1987), "A fast voxel traversal algorithm for ray
// tracing", and those that share a passed edge or corner; they are found row by
// row, since what the leg covers of a row is one run of columns.
func (w *WaterPlane) Blocked(a, b orb.Point) (water, closed bool) {
	bits := w.first(a, b)
	return bits&WaterBit != 0, bits&ClosedBit != 0
}

func (w *WaterPlane) first(a, b orb.Point) uint8 {
	if !finite(a) || !finite(b) {
		return WaterBit // no place at all: nothing is known to be dry
	}
	f := w.Frame
	ax, ay := (a[0]-f.X0)/f.Cell, (f.Y0-a[1])/f.Cell
	bx, by := (b[0]-f.X0)/f.Cell, (f.Y0-b[1])/f.Cell
	if l := math.Hypot(bx-ax, by-ay); l > 4*endTrim {
		t := endTrim / l
		ax, ay, bx, by = ax+t*(bx-ax), ay+t*(by-ay), bx-t*(bx-ax), by-t*(by-ay)
	} else {
		return w.run(math.Floor(ay), math.Floor(ax), math.Floor(ax))
	}
	y0, y1 := touched(min(ay, by), max(ay, by))
	step := 1.0
	if by < ay {
		y0, y1, step = y1, y0, -1
	}
	slope := (bx - ax) / (by - ay)
	for y := y0; ; y += step {
		// The part of the leg within the row, its edges included.
		from, to := ax, bx
		if lo := y - cornerSlack; step > 0 && ay < lo || step < 0 && by < lo {
			if x := ax + (lo-ay)*slope; step > 0 {
				from = x
			} else {
				to = x
			}
		}
		if hi := y + 1 + cornerSlack; step > 0 && by > hi || step < 0 && ay > hi {
			if x := ax + (hi-ay)*slope; step > 0 {
				to = x
			} else {
				from = x
			}
		}
		x0, x1 := touched(min(from, to), max(from, to))
		if to < from {
			x0, x1 = x1, x0
		}
		if bits := w.run(y, x0, x1); bits != 0 {
			return bits
		}
		if y == y1 {
			return 0
		}
	}
}

// touched gives the first and last cell that the stretch lo … hi touches.
func touched(lo, hi float64) (first, last float64) {
	return math.Ceil(lo-cornerSlack) - 1, math.Floor(hi + cornerSlack)
}

// run gives the bits of the first cell with any in row y from column x0 to x1,
// either way round.
func (w *WaterPlane) run(y, x0, x1 float64) uint8 {
	step := 1.0
	if x1 < x0 {
		step = -1
	}
	for x := x0; ; x += step {
		bits := w.Beyond
		if x >= 0 && y >= 0 && x < float64(w.Frame.W) && y < float64(w.Frame.H) {
			bits = w.Cell(int(x), int(y))
		}
		if bits &= WaterBit | ClosedBit; bits != 0 || x == x1 {
			return bits
		}
	}
}
