package results

import (
	"context"
	"errors"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// readStreams takes streams and the outline of the area; without them less is
// drawn, and a note says so.
func (r *Run) readStreams() {
	const name = "streams.gpkg"
	if !r.there(name) {
		r.note("no %s: streams and the outline of the area are not drawn; make the map again with output.report true", name)
		return
	}
	path, err := r.file(name)
	if err == nil {
		err = plainFile(path, mostBytes)
	}
	if err != nil {
		r.note("not shown: %v", err)
		return
	}
	ctx := context.Background()
	lines, err := vector.Read(ctx, vector.Query{Path: path, Layer: "streams", Fields: []string{"name", "stream_order"}, Kind: vector.Lines}, raster.WGS84())
	if err != nil && !errors.Is(err, vector.ErrEmpty) {
		r.note("not shown: %v", err)
	}
	for _, f := range lines.Features {
		s := Stream{Name: f.Values[0].String()}
		if v, ok := f.Values[1].Float(); ok && v >= 1 && v < 100 {
			s.Order = int(v)
		}
		switch l := f.Geometry.(type) {
		case orb.LineString:
			s.Line = orb.MultiLineString{l}
		case orb.MultiLineString:
			s.Line = l
		}
		r.Streams = append(r.Streams, s)
	}
	area, err := vector.Read(ctx, vector.Query{Path: path, Layer: "area", Kind: vector.Polygons}, raster.WGS84())
	if err != nil && !errors.Is(err, vector.ErrEmpty) {
		r.note("not shown: %v", err)
	}
	for _, f := range area.Features {
		switch g := f.Geometry.(type) {
		case orb.Polygon:
			r.Area = append(r.Area, g)
		case orb.MultiPolygon:
			r.Area = append(r.Area, g...)
		}
	}
}
