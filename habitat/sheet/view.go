package sheet

import (
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
)

// Size of a sheet's map in units of its drawing, a tenth of a millimetre: the
// ground shown lies within margins that hold the grid, the scale and the key.
const (
	drawingWide  = 1240.0
	marginLeft   = 34.0
	marginRight  = 4.0
	marginTop    = 32.0
	marginBottom = 104.0
	mapWide      = drawingWide - marginLeft - marginRight
)

// leastExtent is the least ground a sheet's map shows, metres from west to
// east; mostExtent the most that an entry may stretch it to.
const (
	leastExtent = 700.0
	mostExtent  = 2500.0
)

// view is a piece of ground on the drawing. North is up.
type view struct {
	bound orb.Bound // the frame's grid, metres
	high  float64   // of the ground on the drawing, units
	scale float64   // units a metre
}

// at is where a point of the grid lies, from the upper left of the ground.
func (v view) at(p orb.Point) (x, y float64) {
	return (p[0] - v.bound.Min[0]) * v.scale, (v.bound.Max[1] - p[1]) * v.scale
}

// viewOf chooses the ground shown: the patch and a margin, and the entry where
// that stays a map of the patch.
func viewOf(patch orb.Bound, w *results.Walk, high float64) view {
	b := patch
	if w != nil && w.OK {
		if with := patch.Extend(orb.Point{w.EntryEast, w.EntryNorth}); extent(with, high) <= max(mostExtent, extent(patch, high)) {
			b = with
		}
	}
	wide, mid := extent(b, high), b.Center()
	v := view{high: high, scale: mapWide / wide}
	half := orb.Point{wide / 2, high / v.scale / 2}
	v.bound = orb.Bound{Min: orb.Point{mid[0] - half[0], mid[1] - half[1]}, Max: orb.Point{mid[0] + half[0], mid[1] + half[1]}}
	return v
}

// extent is how many metres from west to east show a bound with a margin.
func extent(b orb.Bound, high float64) float64 {
	const margin = 1.3
	return max(leastExtent, margin*(b.Max[0]-b.Min[0]), margin*(b.Max[1]-b.Min[1])*mapWide/high)
}

// num is a length of the drawing, to a tenth of a unit.
func num(v float64) string { return strconv.FormatFloat(math.Round(v*10)/10+0, 'f', -1, 64) }
