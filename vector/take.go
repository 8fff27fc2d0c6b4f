package vector

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// take decodes, transforms, keeps and mends one batch.
func (r *reader) take(ctx context.Context, batch []rawFeature) error {
	first, before := len(r.out), r.points
	for _, raw := range batch {
		before -= len(raw.wkb) / pointBytes
	}
	var pts []orb.Point
	for _, raw := range batch {
		r.seen++
		f := Feature{FID: raw.fid, Values: raw.values}
		if r.layer.spatial {
			g, err := r.shape(raw)
			if err != nil {
				return err
			}
			if g == nil {
				continue
			}
			n := len(pts)
			pts = pointsOf(g, pts)
			if !finite(pts[n:]) {
				r.notFinite.add(raw.fid)
				pts = pts[:n]
				continue
			}
			f.Geometry = g
		}
		r.out = append(r.out, f)
	}
	if r.query.Swap {
		for i, p := range pts {
			pts[i] = orb.Point{p[1], p[0]}
		}
	}
	if r.move != nil {
		if err := r.move.Points(pts); err != nil {
			return r.nameFeature(err, r.out[first:])
		}
	}
	if r.move != nil || r.query.Swap && r.layer.spatial {
		for i := first; i < len(r.out); i++ {
			r.out[i].Geometry, pts = withPoints(r.out[i].Geometry, pts)
		}
	}
	r.keep(first)
	if len(r.out) == first && r.query.Bounds != nil {
		r.points = before // all lie elsewhere
	}
	r.met += len(r.out) - first
	return r.mendFrom(ctx, first)
}

// shape decodes a feature's geometry and picks what is of the wanted kind; nil,
// and counted, when there is nothing.
func (r *reader) shape(raw rawFeature) (orb.Geometry, error) {
	if raw.wkb == nil {
		r.null.add(raw.fid)
		return nil, nil
	}
	g, err := wkb.Unmarshal(raw.wkb)
	if errors.Is(err, wkb.ErrUnsupportedGeometry) {
		return nil, fmt.Errorf("FID %d: a kind of geometry that is not read (a solid or a net of triangles)", raw.fid)
	}
	if err != nil {
		return nil, fmt.Errorf("FID %d: geometry not understood: %w", raw.fid, err)
	}
	if isEmpty(g) {
		r.null.add(raw.fid)
		return nil, nil
	}
	r.kinds[kindOf(g)]++
	want := r.query.Kind
	if want == Any || kindOf(g) == want {
		return g, nil
	}
	if g = pick(g, want); isEmpty(g) {
		r.other.add(raw.fid)
		return nil, nil
	}
	r.mixed.add(raw.fid)
	return g, nil
}

// mendFrom mends the shapes of the features from first on, if a kind is wanted.
func (r *reader) mendFrom(ctx context.Context, first int) error {
	kept := r.out[:first]
	again := false
	for _, f := range r.out[first:] {
		g, changed := f.Geometry, false
		var err error
		switch r.query.Kind {
		case Polygons:
			if err = ctx.Err(); err != nil {
				return err
			}
			g, changed, err = mend(g)
			if errors.Is(err, errTangled) {
				r.tangled.add(f.FID)
				continue
			}
			if err != nil {
				return fmt.Errorf("FID %d: %w", f.FID, err)
			}
		case Lines:
			g, changed = dropStubs(g)
		}
		switch {
		case changed && g == nil:
			r.lost.add(f.FID)
			continue
		case changed:
			r.mended.add(f.FID)
			again = true
		}
		f.Geometry = g
		kept = append(kept, f)
	}
	r.out = kept
	if again {
		r.keep(first) // what was outside the bounds may have been the fault
	}
	return nil
}

// nameFeature finds the feature whose point could not be transformed.
func (r *reader) nameFeature(err error, features []Feature) error {
	var at *PointError
	if !errors.As(err, &at) {
		return err
	}
	n := 0
	for _, f := range features {
		if n += len(pointsOf(f.Geometry, nil)); n > at.Index {
			hint := ""
			if p := at.Point; r.info.EPSG == 4326 && (math.Abs(p[0]) > 360 || math.Abs(p[1]) > 90) {
				hint = "; these are not degrees: name the crs the file is in"
			}
			return fmt.Errorf("FID %d: point (%g, %g) cannot be transformed from %q: %w%s", f.FID, at.Point[0], at.Point[1], r.info.CRSName, at.Err, hint)
		}
	}
	return err
}

// keep drops the features from first on whose box is wholly outside the bounds.
func (r *reader) keep(first int) {
	b := r.query.Bounds
	if b == nil || !r.layer.spatial {
		return
	}
	box := orb.Bound{Min: orb.Point{b[0], b[1]}, Max: orb.Point{b[2], b[3]}}
	kept := r.out[:first]
	for _, f := range r.out[first:] {
		if f.Geometry.Bound().Intersects(box) {
			kept = append(kept, f)
		}
	}
	r.out = kept
}
