package results

import (
	"context"
	"errors"

	"rillwood/raster"
)

// bandRows is how many rows are read at a time: those of one row of tiles, so
// that each is unpacked once.
const bandRows = 512

// mostBand is the most cells read at a time.
const mostBand = 1 << 24

// Histogram counts the ground by suitability in n equal bins from 0 to 1, in
// hectares, cell by cell over the whole map; what was not mapped is left out.
// A bin holds its lower edge and the last one both, compared in the single
// precision of the raster, as the shortlist compares its threshold.
func (r *Run) Histogram(ctx context.Context, n int) ([]Bin, error) {
	if n < 1 || n > 10_000 {
		return nil, errors.New("a histogram has 1 to 10,000 bins")
	}
	bins := make([]Bin, n)
	lower := make([]float32, n+1)
	for i := range bins {
		bins[i].From, bins[i].To = float64(i)/float64(n), float64(i+1)/float64(n)
		lower[i] = float32(bins[i].From)
	}
	lower[n] = 2 // holds 1, too
	rows := min(bandRows, max(1, mostBand/r.Frame.W))
	bands := (r.Frame.H + rows - 1) / rows
	counts := make([][]int64, workers())
	err := raster.Parallel(ctx, len(counts), bands, func(w, band int) error {
		if counts[w] == nil {
			counts[w] = make([]int64, n)
		}
		y := band * rows
		v, err := r.suitability(ctx, r.Frame.Cut(0, y, r.Frame.W, min(rows, r.Frame.H-y)), 1)
		if err != nil {
			return err
		}
		count := counts[w]
		for _, s := range v {
			if s != s {
				continue
			}
			i := min(int(s*float32(n)), n-1)
			for s < lower[i] {
				i--
			}
			for s >= lower[i+1] {
				i++
			}
			count[i]++
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i := range bins {
		total := int64(0)
		for _, c := range counts {
			if c != nil {
				total += c[i]
			}
		}
		bins[i].Ha = float64(total) * r.Frame.CellHa()
	}
	return bins, nil
}
