package vector

import (
	"github.com/paulmach/orb"

	"rillwood/raster"
)

// CellsOfPoints gives the row-major index (row·W + column) of the cell that
// holds each point, −1 for points outside the frame.
func CellsOfPoints(f raster.Frame, pts []orb.Point) []int {
	out := make([]int, len(pts))
	for i, p := range pts {
		out[i] = -1
		if !finite(pts[i : i+1]) {
			continue
		}
		if x, y, ok := f.At(p[0], p[1]); ok {
			out[i] = y*f.W + x
		}
	}
	return out
}

// grid gives a point in cell units: x columns east and y rows south of the
// frame's north-west corner.
func grid(f raster.Frame, p orb.Point) [2]float64 {
	return [2]float64{(p[0] - f.X0) / f.Cell, (f.Y0 - p[1]) / f.Cell}
}
