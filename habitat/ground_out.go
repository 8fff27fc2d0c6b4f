package habitat

import (
	"context"
	"fmt"
	"math"
	"path/filepath"

	"github.com/paulmach/orb"
	orbclip "github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/simplify"

	"rillwood/vector"
)

const streamsName = "streams.gpkg"

// writeGround writes what pages and packs show under the candidates: relief,
// streams, and the outline of the area.
func (p *publication) writeGround(ctx context.Context, folder string) error {
	report := p.o.stage("writing relief")
	if err := p.relief(ctx, filepath.Join(folder, reliefName)); err != nil {
		return err
	}
	report(0.8)
	layers := []vector.OutLayer{p.streamLayer(), p.areaLayer()}
	if err := vector.WriteGeoPackage(filepath.Join(folder, streamsName), p.ground.frame.WKT, layers); err != nil {
		return fmt.Errorf("streams: %w", err)
	}
	report(1)
	return nil
}

// streamLayer is the streams as the run took them, inside the map, with the
// corners that a quarter of a cell does not show left out.
func (p *publication) streamLayer() vector.OutLayer {
	out := vector.OutLayer{Name: "streams", Geometry: "MultiLineString", Fields: []vector.FieldInfo{
		{Name: "name", Type: "String"}, {Name: "stream_order", Type: "Integer64"}, {Name: "area_km2", Type: "Real"}}}
	bound := p.bound()
	for _, r := range p.ground.network.Reaches {
		var parts orb.MultiLineString
		for _, l := range lineParts(r.Line) {
			for _, piece := range orbclip.LineString(bound, l.Clone()) {
				piece = simplify.DouglasPeucker(p.ground.frame.Cell / 4).LineString(piece)
				if len(piece) > 1 {
					parts = append(parts, piece)
				}
			}
		}
		if len(parts) == 0 {
			continue
		}
		values := []vector.Value{vector.Value{}, vector.Value{}, vector.Value{}}
		if r.Name != "" {
			values[0] = vector.TextValue(r.Name)
		}
		if r.Order > 0 {
			values[1] = vector.IntValue(int64(r.Order))
		}
		if !math.IsNaN(r.AreaKm2) {
			values[2] = vector.FloatValue(round(r.AreaKm2, 3))
		}
		out.Features = append(out.Features, vector.Feature{Geometry: parts, Values: values})
	}
	return out
}

// areaLayer is the outline of what was mapped: the area given, or the frame.
func (p *publication) areaLayer() vector.OutLayer {
	out := vector.OutLayer{Name: "area", Geometry: "MultiPolygon"}
	shape := p.ground.outline
	if shape == nil {
		shape = orb.MultiPolygon{p.bound().ToPolygon()}
	}
	out.Features = []vector.Feature{{Geometry: shape}}
	return out
}

// bound is the written part of the map, frame CRS.
func (p *publication) bound() orb.Bound {
	w, s, e, n := p.frame().Bounds()
	return orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}}
}

func lineParts(g orb.Geometry) []orb.LineString {
	switch l := g.(type) {
	case orb.LineString:
		return []orb.LineString{l}
	case orb.MultiLineString:
		return l
	}
	return nil
}
