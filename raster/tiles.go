package raster

import (
	"context"

	"golang.org/x/sync/errgroup"
)

// Tile is a window of a plane: first cell, size, and its place in the row-major
// list of tiles.
type Tile struct{ X, Y, W, H, Index int }

// Tiling cuts a w×h plane into tiles of side cells (the last ones smaller).
type Tiling struct{ W, H, Side, NX, NY int }

// NewTiling cuts a w×h plane into square tiles of the given side; side < 1
// means one tile.
func NewTiling(w, h, side int) Tiling {
	if side < 1 {
		side = max(w, h)
	}
	return Tiling{W: w, H: h, Side: side, NX: (w + side - 1) / side, NY: (h + side - 1) / side}
}

// N is the number of tiles.
func (t Tiling) N() int { return t.NX * t.NY }

// Tile gives the i-th tile.
func (t Tiling) Tile(i int) Tile {
	x, y := i%t.NX*t.Side, i/t.NX*t.Side
	return Tile{X: x, Y: y, W: min(t.Side, t.W-x), H: min(t.Side, t.H-y), Index: i}
}

// Of gives the index of the tile that holds cell (x, y).
func (t Tiling) Of(x, y int) int { return y/t.Side*t.NX + x/t.Side }

// Each calls f once for each tile, in order but on up to workers goroutines;
// worker (0 … workers−1) tells the callers apart, for buffers of their own.
// It stops at the first error or when ctx ends.
func (t Tiling) Each(ctx context.Context, workers int, f func(worker int, tile Tile) error) error {
	return Parallel(ctx, workers, t.N(), func(w, i int) error { return f(w, t.Tile(i)) })
}

// Parallel calls f(worker, i) once for each i in 0 … n−1, handing them out in
// order to up to workers goroutines. It stops at the first error or when ctx ends.
func Parallel(ctx context.Context, workers, n int, f func(worker, i int) error) error {
	workers = max(1, min(workers, n))
	if workers == 1 {
		for i := range n {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := f(0, i); err != nil {
				return err
			}
		}
		return nil
	}
	g, ctx := errgroup.WithContext(ctx)
	next := make(chan int)
	g.Go(func() error {
		defer close(next)
		for i := range n {
			select {
			case next <- i:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	for w := range workers {
		g.Go(func() error {
			for i := range next {
				if err := f(w, i); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return g.Wait()
}
