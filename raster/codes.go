package raster

import (
	"context"
	"fmt"
	"math"

	"github.com/airbusgeo/godal"
)

// Codes counts the class codes of a layer's own cells inside bounds (west,
// south, east, north in boundsWKT; nil for all), nodata left out.
func Codes(ctx context.Context, s Source, bounds *[4]float64, boundsWKT string) (map[int]int64, error) {
	infos, err := describeAll(s)
	if err != nil {
		return nil, err
	}
	counts := make([]int64, noClass+1)
	for _, in := range infos {
		x0, y0, x1, y1 := 0, 0, in.W, in.H
		if bounds != nil {
			if x0, y0, x1, y1, err = in.window(*bounds, boundsWKT); err != nil {
				return nil, err
			}
		}
		if err := countCodes(ctx, in, x0, y0, x1, y1, counts); err != nil {
			return nil, err
		}
	}
	out := map[int]int64{}
	for c, n := range counts[:noClass] {
		if n > 0 {
			out[c] = n
		}
	}
	return out, nil
}

func countCodes(ctx context.Context, in Info, x0, y0, x1, y1 int, counts []int64) error {
	if x0 >= x1 || y0 >= y1 {
		return nil
	}
	ds, err := open(in.Path, &messages{})
	if err != nil {
		return err
	}
	defer ds.Close(godal.ErrLogger(strict))
	nd := noClass
	if v := in.NoData; v != nil && *v >= 0 && *v < noClass && *v == math.Trunc(*v) {
		nd = int(*v)
	}
	before := counts[nd] // of other files, for which the code may be a class
	w, band := x1-x0, min(landBand, y1-y0)
	buf := make([]uint16, w*band)
	for y := y0; y < y1; y += band {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := min(band, y1-y)
		if err := readCells(ds, x0, y, w, n, buf, w); err != nil {
			return fmt.Errorf("read %q, rows %d to %d: %w", in.Path, y, y+n-1, err)
		}
		for _, c := range buf[:w*n] {
			counts[c]++
		}
	}
	counts[nd] = before
	return nil
}
