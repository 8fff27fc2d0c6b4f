package evidence

import (
	"context"
	"fmt"

	"rillwood/raster"
)

// maxItems is how many fields of layers can be weighed together.
const maxItems = 16

// maxCombos is how many combinations of shifts are worked out beforehand; six
// layers of ten different shifts each make a million. Beyond it each worker
// keeps those it has met.
const maxCombos = 1 << 20

// Stats tells what evidence did to the map.
type Stats struct {
	Up, Down int64   // cells shifted towards bottomland, and away from it
	Min, Max float64 // least and largest shift of any cell, log-odds
}

// CombinePlanes weighs all items together, cell by cell, into shifts of the
// log-odds in steps of 1/ShiftUnit. The plane is made with scratch; no items
// give a plane of zeros. The outcome does not depend on the order of the items,
// nor on workers.
func CombinePlanes(ctx context.Context, items []Item, rule Rule, f raster.Frame, scratch *raster.Scratch, workers int) (*raster.Plane[int8], Stats, error) {
	return combinePlanes(ctx, items, rule, f, scratch, workers, maxCombos)
}

func combinePlanes(ctx context.Context, items []Item, rule Rule, f raster.Frame, scratch *raster.Scratch, workers, combos int) (*raster.Plane[int8], Stats, error) {
	if err := rule.Check(); err != nil {
		return nil, Stats{}, fmt.Errorf("evidence: %w", err)
	}
	if len(items) > maxItems {
		return nil, Stats{}, fmt.Errorf("evidence: %d fields of layers; at most %d can be weighed together, so leave the weakest out", len(items), maxItems)
	}
	for _, it := range items {
		if w, h := it.Plane.Size(); w != f.W || h != f.H {
			panic(fmt.Sprintf("evidence: plane of %d × %d for a frame of %d × %d", w, h, f.W, f.H))
		}
	}
	plane, err := raster.NewPlane[int8](f.W, f.H, scratch)
	if err != nil || len(items) == 0 {
		return plane, Stats{}, err
	}
	c := newCombiner(items, rule, combos)
	workers = max(1, workers)
	desks := make([]*desk, workers)
	err = raster.Parallel(ctx, workers, (f.H+bandRows-1)/bandRows, func(w, band int) error {
		if desks[w] == nil {
			desks[w] = c.desk(f.W)
		}
		for y := band * bandRows; y < min(f.H, (band+1)*bandRows); y++ {
			if err := desks[w].row(y, plane); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		plane.Close()
		return nil, Stats{}, err
	}
	return plane, tell(desks), nil
}

// tell sums up what the workers counted.
func tell(desks []*desk) Stats {
	var counts [256]int64
	for _, d := range desks {
		if d != nil {
			for i, n := range d.counts {
				counts[i] += n
			}
		}
	}
	var s Stats
	first := true
	for v := -128; v <= 127; v++ {
		n := counts[uint8(int8(v))]
		if n == 0 {
			continue
		}
		shift := float64(v) / ShiftUnit
		if first {
			s.Min, first = shift, false
		}
		s.Max = shift
		switch {
		case v > 0:
			s.Up += n
		case v < 0:
			s.Down += n
		}
	}
	return s
}
