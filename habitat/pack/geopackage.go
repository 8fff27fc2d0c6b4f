package pack

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"

	"rillwood/habitat/picture"
	"rillwood/habitat/results"
	"rillwood/vector"
)

// around is how far beyond the chosen patches streams and access are packed, metres.
const around = 2000.0

// writeGeoPackage writes the chosen candidates with what lies around them, in
// the grid's coordinate system. Columns label and colour are there for a
// viewer to style by.
func writeGeoPackage(ctx context.Context, path string, run *results.Run, list []*results.Candidate) error {
	to, err := vector.FromWGS84(run.Frame.WKT)
	if err != nil {
		return err
	}
	patches := vector.OutLayer{Name: "candidates", Geometry: "MultiPolygon"}
	columns := columns(run)
	for _, k := range columns {
		patches.Fields = append(patches.Fields, vector.FieldInfo{Name: k.name, Type: k.kind})
	}
	patches.Fields = append(patches.Fields, vector.FieldInfo{Name: "label", Type: "String"}, vector.FieldInfo{Name: "colour", Type: "String"})
	entries := vector.OutLayer{Name: "entry_points", Geometry: "Point", Fields: fields("rank", "Integer64", "kind", "String", "label", "String", "note", "String")}
	ways := vector.OutLayer{Name: "ways", Geometry: "LineString", Fields: fields("rank", "Integer64", "note", "String", "metres", "Real", "water_crossings", "Integer64")}
	var box orb.Bound
	for i, c := range list {
		shape, err := to.Geometry(c.Shape)
		if err != nil {
			return fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		if b := shape.Bound(); i == 0 {
			box = b
		} else {
			box = box.Union(b)
		}
		f := vector.Feature{Geometry: shape}
		for _, k := range columns {
			f.Values = append(f.Values, valueOf(k.of(c)))
		}
		f.Values = append(f.Values, vector.TextValue(fmt.Sprint(c.Rank)), valueOf(colourOf(c.SMean)))
		patches.Features = append(patches.Features, f)
		w := c.Walk
		if !hasWay(c) {
			continue
		}
		start, err := to.Point(orb.Point{w.StartLon, w.StartLat})
		if err != nil {
			return fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		rank := vector.IntValue(int64(c.Rank))
		entries.Features = append(entries.Features,
			vector.Feature{Geometry: orb.Point{w.EntryEast, w.EntryNorth}, Values: []vector.Value{rank, vector.TextValue("entry"), vector.TextValue(idOf(c) + " IN"), vector.TextValue(plain(w.Note))}},
			vector.Feature{Geometry: start, Values: []vector.Value{rank, vector.TextValue("start"), vector.TextValue(idOf(c) + " START"), vector.TextValue(plain(startWords(w)))}})
		if line := run.Ways[c.Rank]; len(line) > 1 {
			g, err := to.Geometry(line)
			if err != nil {
				return fmt.Errorf("candidate %d: %w", c.Rank, err)
			}
			box = box.Union(g.Bound())
			ways.Features = append(ways.Features, vector.Feature{Geometry: g, Values: []vector.Value{rank, vector.TextValue(plain(w.Note)), vector.FloatValue(w.DistanceM), vector.IntValue(int64(w.Crossings))}})
		}
	}
	box = box.Pad(around)
	streams := vector.OutLayer{Name: "streams", Geometry: "MultiLineString", Fields: fields("name", "String", "stream_order", "Integer64")}
	for _, s := range run.Streams {
		g, err := to.Geometry(s.Line)
		if err != nil {
			return fmt.Errorf("streams: %w", err)
		}
		part := clip.MultiLineString(box, g.(orb.MultiLineString))
		if len(part) == 0 {
			continue
		}
		order := vector.Value{}
		if s.Order > 0 {
			order = vector.IntValue(int64(s.Order))
		}
		streams.Features = append(streams.Features, vector.Feature{Geometry: part, Values: []vector.Value{valueOf(s.Name), order}})
	}
	areas, err := run.AccessAreas(ctx, box)
	if err != nil {
		return err
	}
	access := vector.OutLayer{Name: "access", Geometry: "MultiPolygon", Fields: fields("access", "String", "label", "String")}
	for _, a := range areas {
		g, err := to.Geometry(a.Shape)
		if err != nil {
			return fmt.Errorf("access: %w", err)
		}
		words := accessWords(&results.Candidate{Access: a.Status})
		access.Features = append(access.Features, vector.Feature{Geometry: g, Values: []vector.Value{vector.TextValue(a.Status), vector.TextValue(words)}})
	}
	return vector.WriteGeoPackage(path, run.Frame.WKT, []vector.OutLayer{patches, entries, ways, streams, access})
}

// fields pairs names with types.
func fields(list ...string) (out []vector.FieldInfo) {
	for i := 0; i < len(list); i += 2 {
		out = append(out, vector.FieldInfo{Name: list[i], Type: list[i+1]})
	}
	return out
}

func valueOf(v any) vector.Value {
	switch v := v.(type) {
	case int:
		return vector.IntValue(int64(v))
	case float64:
		return vector.FloatValue(v) // NULL when it is not known
	case string:
		if v = plain(v); v != "" {
			return vector.TextValue(v)
		}
	}
	return vector.Value{}
}

// colourOf is the ramp's colour at a suitability, as #rrggbb; "" when it is not known.
func colourOf(s float64) string {
	if math.IsNaN(s) {
		return ""
	}
	stops := picture.Ramp()
	best := stops[0]
	for _, p := range stops {
		if math.Abs(p.Value-s) < math.Abs(best.Value-s) {
			best = p
		}
	}
	return fmt.Sprintf("#%02x%02x%02x", best.Color.R, best.Color.G, best.Color.B)
}
