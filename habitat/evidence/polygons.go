package evidence

import (
	"errors"
	"fmt"

	"github.com/paulmach/orb"

	"rillwood/vector"
)

// polygons reads a layer of polygons into items.
func (r *reader) polygons() error {
	q := r.src.Query
	info, err := vector.Describe(q.Path, q.Layer, q.CRS)
	if err != nil {
		return err
	}
	have := make([]string, len(info.Fields))
	for i, f := range info.Fields {
		have[i] = f.Name
	}
	if info.Count == 0 && len(have) == 0 {
		// A GeoJSON without features has no columns either.
		for _, field := range r.src.Table.Fields() {
			if _, _, err := r.add(field, ""); err != nil {
				return err
			}
		}
		return nil
	}
	cols, err := findColumns(r.src, have)
	if err != nil {
		return err
	}
	w, s, e, n := r.frame.Bounds()
	q.Bounds = &[4]float64{w, s, e, n}
	q.Fields = nil
	at := make([]int, len(cols)) // place of a column's value in a feature, −1 for none
	for i, c := range cols {
		at[i] = -1
		if c.name != "" {
			at[i], q.Fields = len(q.Fields), append(q.Fields, c.name)
		}
	}
	layer, err := vector.Read(r.ctx, q, r.frame.WKT)
	if err != nil && !errors.Is(err, vector.ErrEmpty) {
		return err
	}
	r.warnings = append(r.warnings, layer.Warnings...)
	features, err := r.areas(layer.Features)
	if err != nil {
		return err
	}
	for i, c := range cols {
		if err := r.fill(c, at[i], features); err != nil {
			return err
		}
	}
	return nil
}

// areas keeps what covers ground, and warns about the rest.
func (r *reader) areas(features []vector.Feature) ([]vector.Feature, error) {
	var out []vector.Feature
	for _, f := range features {
		if f.Geometry = areaOf(f.Geometry); f.Geometry != nil {
			out = append(out, f)
		}
	}
	switch left := len(features) - len(out); {
	case left > 0 && len(out) == 0:
		return nil, fmt.Errorf("%q: no polygon among its %s; evidence wants areas", r.src.Query.Path, many(int64(left), "feature"))
	case left > 0:
		verb := "cover"
		if left == 1 {
			verb = "covers"
		}
		r.warn("%s that %s no area left out", many(int64(left), "feature"), verb)
	}
	return out, nil
}

// areaOf is the part of a geometry that covers ground, nil for none.
func areaOf(g orb.Geometry) orb.Geometry {
	switch g := g.(type) {
	case orb.Polygon, orb.MultiPolygon:
		return g
	case orb.Collection:
		var parts orb.MultiPolygon
		for _, member := range g {
			switch a := areaOf(member).(type) {
			case orb.Polygon:
				parts = append(parts, a)
			case orb.MultiPolygon:
				parts = append(parts, a...)
			}
		}
		if len(parts) > 0 {
			return parts
		}
	}
	return nil
}

// fill paints one column's values, those of shift 0 first: they are on record,
// but do not take ground from a polygon that says something.
func (r *reader) fill(c column, at int, features []vector.Feature) error {
	it, rows, err := r.add(c.field, c.name)
	if err != nil {
		return err
	}
	m := newMatcher(rows)
	var shapes [2][]orb.Geometry // silent, speaking
	var places [2][]uint8
	for _, f := range features {
		text := "yes"
		if at >= 0 {
			text = f.Values[at].String()
		}
		if squeeze(text) == "" {
			continue // NULL, or blanks in its place
		}
		place := m.place(text)
		if place == 0 {
			r.unknown.add(c.field, text, 1, "feature")
			continue
		}
		k := 0
		if rows[place-1].Shift != 0 {
			k = 1
		}
		shapes[k], places[k] = append(shapes[k], f.Geometry), append(places[k], uint8(place))
	}
	for k := range shapes {
		if _, err := vector.FillPolygonValues(r.frame, shapes[k], func(i int) uint8 { return places[k][i] }, it.Plane); err != nil {
			return fmt.Errorf("%q: %w", r.src.Query.Path, err)
		}
	}
	return nil
}
