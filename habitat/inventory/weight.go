package inventory

import (
	"context"
	"sync/atomic"

	"rillwood/raster"
	"rillwood/raster/region"
)

// bandRows is how many rows are worked on at a time.
const bandRows = 64

// weigh makes the weight plane of the run's frame and counts its cells above
// 0. The border of the measured ground lies half a cell from the centres of
// its last cells.
func (e *extent) weigh(ctx context.Context, f raster.Frame, blendM float64, scratch *raster.Scratch, workers int) (*raster.Plane[uint8], int64, error) {
	far, err := raster.NewPlane[float32](e.frame.W, e.frame.H, scratch.Cold())
	if err != nil {
		return nil, 0, err
	}
	defer far.Close()
	if err := region.Distance(ctx, e.outside, 1, f.Cell, far, workers); err != nil {
		return nil, 0, err
	}
	weight, err := raster.NewPlane[uint8](f.W, f.H, scratch)
	if err != nil {
		return nil, 0, err
	}
	// The columns and rows of the run's frame that the extent reaches.
	x0, x1 := max(0, -e.dx), min(f.W, e.frame.W-e.dx)
	y0, y1 := max(0, -e.dy), min(f.H, e.frame.H-e.dy)
	if x0 >= x1 || y0 >= y1 {
		return weight, 0, nil
	}
	w := x1 - x0
	var n atomic.Int64
	err = raster.Parallel(ctx, workers, (y1-y0+bandRows-1)/bandRows, func(_, i int) error {
		y := y0 + i*bandRows
		h := min(bandRows, y1-y)
		dist, out := make([]float32, w*h), make([]uint8, w*h)
		if err := far.Read(x0+e.dx, y+e.dy, w, h, dist); err != nil {
			return err
		}
		found := int64(0)
		for j, d := range dist {
			if out[j] = storeWeight(float64(d)-f.Cell/2, blendM); out[j] > 0 {
				found++
			}
		}
		n.Add(found)
		return weight.Write(x0, y, w, h, out)
	})
	if err != nil {
		weight.Close()
		return nil, 0, err
	}
	return weight, n.Load(), nil
}
