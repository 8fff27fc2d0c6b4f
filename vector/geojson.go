package vector

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"github.com/paulmach/orb"
)

// Property is one name and its value. Values are nil, bool, whole numbers,
// floats (not finite ones are written as null), strings, Value, []Property for
// a nested object, []any, or anything encoding/json can write.
type Property struct {
	Key   string
	Value any
}

// GeoFeature is a feature to write: geometry in WGS 84 longitude and latitude
// (degrees), nil for none. ID is nil, a string or a whole number.
type GeoFeature struct {
	ID         any
	Geometry   orb.Geometry
	Properties []Property
}

// Collection is a GeoJSON FeatureCollection. Members are written before the
// features, as foreign members (RFC 7946 section 6.1).
type Collection struct {
	Members  []Property
	Features []GeoFeature
}

// WriteGeoJSON writes the collection beside path and renames it into place.
func WriteGeoJSON(path string, c Collection) error {
	return WriteBeside(path, func(w io.Writer) error { return EncodeGeoJSON(w, c) })
}

// EncodeGeoJSON writes the collection by RFC 7946, one feature a line:
// coordinates rounded to 7 decimals (about 1 cm) with repeats dropped, outer
// rings counter-clockwise and holes clockwise, lines and polygons cut at the
// antimeridian, a bbox on the collection and on every feature with geometry. A ring with fewer than 4 positions or no area
// left, a line with fewer than 2, and a place off the globe are errors.
func EncodeGeoJSON(w io.Writer, c Collection) error {
	var b bytes.Buffer
	var all []span
	lines := make([][]byte, len(c.Features))
	for i, f := range c.Features {
		b.Reset()
		spans, err := f.encode(&b)
		if err != nil {
			return fmt.Errorf("feature %d: %w", i, err)
		}
		all = append(all, spans...)
		lines[i] = slices.Clone(b.Bytes())
	}
	b.Reset()
	b.WriteString(`{"type":"FeatureCollection"`)
	writeBBox(&b, all)
	if err := writeMembers(&b, c.Members); err != nil {
		return err
	}
	b.WriteString(",\n\"features\":[")
	if _, err := w.Write(b.Bytes()); err != nil {
		return err
	}
	for i, line := range lines {
		sep := ",\n"
		if i == 0 {
			sep = "\n"
		}
		if _, err := io.WriteString(w, sep); err != nil {
			return err
		}
		if _, err := w.Write(line); err != nil {
			return err
		}
	}
	_, err := io.WriteString(w, "\n]}\n")
	return err
}

// Names a foreign member may not take (RFC 7946 section 7.1).
var reserved = []string{"type", "bbox", "features", "coordinates", "geometries", "geometry", "properties", "crs"}

func writeMembers(b *bytes.Buffer, members []Property) error {
	seen := map[string]bool{}
	for _, m := range members {
		if slices.Contains(reserved, m.Key) || seen[m.Key] {
			return fmt.Errorf("member %q: name taken", m.Key)
		}
		seen[m.Key] = true
		b.WriteString(",\n")
		if err := writePair(b, m); err != nil {
			return err
		}
	}
	return nil
}

func (f GeoFeature) encode(b *bytes.Buffer) ([]span, error) {
	b.WriteString(`{"type":"Feature"`)
	switch id := f.ID.(type) {
	case nil:
	case string, int, int8, int16, int32, int64, uint, uint8, uint16, uint32, uint64:
		b.WriteString(`,"id":`)
		if err := writeValue(b, id); err != nil {
			return nil, err
		}
	default:
		return nil, fmt.Errorf("id is a %T, want a string or a whole number", f.ID)
	}
	var spans []span
	if f.Geometry == nil {
		b.WriteString(`,"geometry":null`)
	} else {
		var g bytes.Buffer
		var err error
		if spans, err = writeGeometry(&g, f.Geometry); err != nil {
			return nil, err
		}
		writeBBox(b, spans)
		b.WriteString(`,"geometry":`)
		b.Write(g.Bytes())
	}
	b.WriteString(`,"properties":`)
	if err := writeObject(b, f.Properties); err != nil {
		return nil, err
	}
	b.WriteByte('}')
	return spans, nil
}

func writeObject(b *bytes.Buffer, pairs []Property) error {
	seen := map[string]bool{}
	b.WriteByte('{')
	for i, p := range pairs {
		if seen[p.Key] {
			return fmt.Errorf("property %q: name used twice", p.Key)
		}
		seen[p.Key] = true
		if i > 0 {
			b.WriteByte(',')
		}
		if err := writePair(b, p); err != nil {
			return err
		}
	}
	b.WriteByte('}')
	return nil
}

func writePair(b *bytes.Buffer, p Property) error {
	if err := writeJSON(b, p.Key); err != nil {
		return err
	}
	b.WriteByte(':')
	if err := writeValue(b, p.Value); err != nil {
		return fmt.Errorf("property %q: %w", p.Key, err)
	}
	return nil
}

func writeValue(b *bytes.Buffer, v any) error {
	switch v := v.(type) {
	case Value:
		return writeValue(b, v.Any())
	case float64:
		writeFloat(b, v, 64)
	case float32:
		writeFloat(b, float64(v), 32)
	case []Property:
		return writeObject(b, v)
	case []any:
		b.WriteByte('[')
		for i, e := range v {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := writeValue(b, e); err != nil {
				return err
			}
		}
		b.WriteByte(']')
	default:
		return writeJSON(b, v)
	}
	return nil
}

// writeFloat writes the shortest decimal that reads back as v; −0 as 0.
func writeFloat(b *bytes.Buffer, v float64, bits int) {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		b.WriteString("null")
	case v == 0:
		b.WriteByte('0')
	case math.Abs(v) < 1e-6 || math.Abs(v) >= 1e21:
		b.Write(strconv.AppendFloat(nil, v, 'e', -1, bits))
	default:
		b.Write(strconv.AppendFloat(nil, v, 'f', -1, bits))
	}
}

func writeJSON(b *bytes.Buffer, v any) error {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return err
	}
	b.Truncate(b.Len() - 1) // the newline Encode adds
	return nil
}
