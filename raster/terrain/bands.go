package terrain

import (
	"context"

	"rillwood/raster"
)

// bandRows is how many rows a worker of the window kernels takes at once.
const bandRows = 128

// bandBuffers are one worker's cells: those read and those written.
type bandBuffers struct{ in, out []float32 }

// take gives the two buffers at the sizes wanted; their content is left over.
func (b *bandBuffers) take(in, out int) ([]float32, []float32) {
	b.in, b.out = grown(b.in, in), grown(b.out, out)
	return b.in, b.out
}

// eachBand hands out the rows of a w×h map in bands: n rows from row y on.
// Kernels that look at a small window around each cell read their rim with
// ReadPadded.
func eachBand(ctx context.Context, w, h int, o Options, f func(b *bandBuffers, y, n int) error) error {
	bufs := make([]bandBuffers, max(1, o.Workers))
	return raster.Parallel(ctx, o.Workers, (h+bandRows-1)/bandRows, func(worker, i int) error {
		y := i * bandRows
		return f(&bufs[worker], y, min(bandRows, h-y))
	})
}
