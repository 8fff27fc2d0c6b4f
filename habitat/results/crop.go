package results

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// mostCrop is the most cells a crop has: a square of 8 km at 1 m.
const mostCrop = 1 << 26

// Crop is the cells of the frame that meet a bound (frame's grid, metres), as
// they are; nil when there is none. A bound that only touches cells does not
// meet them. More than 67 million cells are an error.
func (r *Run) Crop(ctx context.Context, b orb.Bound) (*Ground, error) {
	f, ok := r.window(b)
	if !ok {
		return nil, nil
	}
	if f.Cells() > mostCrop {
		return nil, fmt.Errorf("a piece of %d × %d cells is more than is shown at once; choose a smaller one", f.W, f.H)
	}
	return r.land(ctx, f)
}

// window is the cells of the frame that a bound meets; ok is false when there
// is none.
func (r *Run) window(b orb.Bound) (w raster.Frame, ok bool) {
	f := r.Frame
	clamp := func(v float64, most int) int { return int(min(max(v, 0), float64(most))) }
	x0, x1 := clamp(math.Floor((b.Min[0]-f.X0)/f.Cell), f.W), clamp(math.Ceil((b.Max[0]-f.X0)/f.Cell), f.W)
	y0, y1 := clamp(math.Floor((f.Y0-b.Max[1])/f.Cell), f.H), clamp(math.Ceil((f.Y0-b.Min[1])/f.Cell), f.H)
	for _, v := range [...]float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]} {
		if v != v {
			return f, false
		}
	}
	if x0 >= x1 || y0 >= y1 || b.Min[0] > b.Max[0] || b.Min[1] > b.Max[1] {
		return f, false
	}
	return f.Cut(x0, y0, x1-x0, y1-y0), true
}

// workers is how many read at a time; more gain little.
func workers() int { return min(runtime.GOMAXPROCS(0), 4) }
