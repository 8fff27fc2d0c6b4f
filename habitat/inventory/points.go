package inventory

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// readPoints reads the records of a layer of points and tells the WKT of their
// places.
func (s TreeSource) readPoints(ctx context.Context, o settings, hosts []Host) (*reading, string, error) {
	q := s.Points
	info, err := vector.Describe(q.Path, q.Layer, q.CRS)
	if err != nil {
		return nil, "", err
	}
	wrong := func(err error) error { return fmt.Errorf("%q: layer %q: %w", q.Path, info.Layer, err) }
	if info.Count > MaxRecords {
		return nil, "", wrong(fmt.Errorf("%d features, more than the %d records that are taken; cut it into parts", info.Count, MaxRecords))
	}
	if info.WKT == "" {
		return nil, "", wrong(fmt.Errorf("%w; name the one it is in, as in \"EPSG:26917\"", vector.ErrNoCRS))
	}
	var names []string
	for _, f := range info.Fields {
		names = append(names, f.Name)
	}
	l, err := s.choose(names, false)
	if err != nil {
		return nil, "", wrong(err)
	}
	// Bounds would cut the hull of the survey, and with it what was measured.
	q.Bounds, q.Fields = nil, nil
	for _, i := range []*int{&l.species, &l.diameter, &l.status, &l.expansion} {
		if *i >= 0 {
			q.Fields = append(q.Fields, names[*i])
			*i = len(q.Fields) - 1
		}
	}
	layer, err := vector.Read(ctx, q, "")
	if err != nil {
		return nil, "", err
	}
	crs, err := raster.DescribeCRS(info.WKT)
	if err != nil {
		return nil, "", wrong(err)
	}
	r := newReading(l, hosts, o.minCm, "FID")
	r.noColumns = append(layer.Warnings, r.noColumns...)
	for _, f := range layer.Features {
		p, err := onePoint(f.Geometry)
		if err != nil {
			return nil, "", wrong(fmt.Errorf("FID %d: %w", f.FID, err))
		}
		if !crs.Projected && !onGlobe(p[0], p[1]) {
			r.misplaced(f.FID, true, p[0], p[1])
			continue
		}
		value := func(i int) vector.Value {
			if i < 0 {
				return vector.Value{}
			}
			return f.Values[i]
		}
		if err := r.add(p[0], p[1], f.FID, value); err != nil {
			return nil, "", wrong(err)
		}
	}
	return r, info.WKT, nil
}

func onePoint(g orb.Geometry) (orb.Point, error) {
	switch g := g.(type) {
	case orb.Point:
		return g, nil
	case orb.MultiPoint:
		if len(g) == 1 {
			return g[0], nil
		}
		return orb.Point{}, fmt.Errorf("a place of %d points; a record is one tree at one point", len(g))
	case nil:
		return orb.Point{}, fmt.Errorf("no place; a layer of points is wanted")
	}
	return orb.Point{}, fmt.Errorf("%s found; a layer of points is wanted", g.GeoJSONType())
}
