package terrain

import (
	"math"

	"rillwood/raster"
)

// Flow directions, as a Routing's plane holds them: 0 … 7 are the neighbours
// in the order E, SE, S, SW, W, NW, N, NE (1<<code is the common bit code).
const (
	Out    = 8   // the cell drains off the map
	Pit    = 9   // no way down, before pits are opened; never in a finished routing
	NoData = 255 // no elevation
)

var (
	dx = [8]int{1, 1, 0, -1, -1, -1, 0, 1}
	dy = [8]int{0, 1, 1, 1, 0, -1, -1, -1}
)

const invSqrt2 = float32(1 / math.Sqrt2)

// Options of the tiled kernels. The zero value is one tile and one worker.
type Options struct {
	Tile     int             // side of a tile in cells
	Workers  int             // goroutines
	Scratch  *raster.Scratch // where planes go that need not stay in memory; nil keeps them there
	Progress func(done float64)
}

func (o Options) report(done float64) {
	if o.Progress != nil {
		o.Progress(done)
	}
}

// perimeter numbers the cells on a tile's rim.
type perimeter struct{ w, h int }

func (p perimeter) n() int {
	if p.h == 1 {
		return p.w
	}
	return 2*p.w + 2*max(p.h-2, 0)
}

// at gives the number of rim cell (x, y) of the tile.
func (p perimeter) at(x, y int) int {
	switch {
	case y == 0:
		return x
	case y == p.h-1:
		return p.w + x
	case x == 0:
		return 2*p.w + y - 1
	default:
		return 2*p.w + p.h - 2 + y - 1
	}
}

// cell is the inverse of at.
func (p perimeter) cell(i int) (x, y int) {
	switch {
	case i < p.w:
		return i, 0
	case i < 2*p.w:
		return i - p.w, p.h - 1
	case i < 2*p.w+p.h-2:
		return 0, i - 2*p.w + 1
	default:
		return p.w - 1, i - 2*p.w - (p.h - 2) + 1
	}
}

// each calls f for every rim cell once.
func (p perimeter) each(f func(i, x, y int)) {
	for x := range p.w {
		f(p.at(x, 0), x, 0)
	}
	if p.h > 1 {
		for x := range p.w {
			f(p.at(x, p.h-1), x, p.h-1)
		}
	}
	for y := 1; y < p.h-1; y++ {
		f(p.at(0, y), 0, y)
		if p.w > 1 {
			f(p.at(p.w-1, y), p.w-1, y)
		}
	}
}

// offsets gives the steps to the eight neighbours in a window with this many
// cells a row.
func offsets(stride int) (off [8]int) {
	for d := range off {
		off[d] = dy[d]*stride + dx[d]
	}
	return off
}
