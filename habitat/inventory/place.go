package inventory

import (
	"context"
	"fmt"
	"math"

	"rillwood/raster"
)

// placeBatch is how many records are moved at a time.
const placeBatch = 1 << 16

// farM is farther than any projected coordinate on earth, metres: what lies
// beyond is no place.
const farM = 1e8

// place moves the records to the frame's system. Records that cannot be moved
// are left out and counted. It is an error when none lies on the map while
// some would with x and y exchanged.
func (r *reading) place(ctx context.Context, wkt string, f raster.Frame) error {
	if err := r.checkAxes(wkt, f); err != nil {
		return err
	}
	same := raster.SameCRS(wkt, f.WKT)
	kept := r.records[:0]
	xs, ys := make([]float64, placeBatch), make([]float64, placeBatch)
	for i := 0; i < len(r.records); i += placeBatch {
		if err := ctx.Err(); err != nil {
			return err
		}
		batch := r.records[i:min(i+placeBatch, len(r.records))]
		for j, t := range batch {
			xs[j], ys[j] = t.x, t.y
		}
		var moved []bool
		if !same {
			var err error
			if moved, err = raster.TransformPoints(xs[:len(batch)], ys[:len(batch)], wkt, f.WKT); err != nil {
				return err
			}
		}
		for j, t := range batch {
			if !same && !moved[j] || !(math.Abs(xs[j]) <= farM && math.Abs(ys[j]) <= farM) {
				r.badPlace.add(r.what, t.at)
				continue
			}
			t.x, t.y = xs[j], ys[j]
			kept = append(kept, t)
		}
	}
	r.records = kept
	return nil
}

func (r *reading) checkAxes(wkt string, f raster.Frame) error {
	w, s, e, n := f.Bounds()
	b, err := raster.TransformBounds([4]float64{w, s, e, n}, f.WKT, wkt)
	if err != nil {
		return nil // the map is outside that system's world: nothing can be told
	}
	swapped := 0
	for _, t := range r.records {
		if inside(b, t.x, t.y) {
			return nil
		}
		if inside(b, t.y, t.x) {
			swapped++
		}
	}
	// Latitudes beyond 90 are no places, so swapped records may be among those
	// left out; one of the others is enough to tell.
	if swapped > 0 {
		return fmt.Errorf("no record lies on the map, yet %d of %d would with x (longitude) and y (latitude) exchanged; give the columns, or the layer's axes, the other way round", swapped, len(r.records))
	}
	return nil
}

func inside(b [4]float64, x, y float64) bool {
	return x >= b[0] && x <= b[2] && y >= b[1] && y <= b[3]
}
