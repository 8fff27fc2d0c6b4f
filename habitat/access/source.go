package access

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rillwood/raster"
	"rillwood/vector"
)

// The usual columns, in order of preference: those of the US inventory of
// protected areas, then general ones (common practice, no source).
var (
	usualFields     = []string{"pub_access", "public_access", "access"}
	usualNameFields = []string{"unit_nm", "unit_name", "name"}
)

// Source is one layer of polygons that say who may enter. With both a column
// and a status for all of it, the more cautious of the two counts, and the
// status where the column has no value. Private land stays private where the
// column says unknown.
type Source struct {
	Query     vector.Query // Fields, Bounds and Kind are filled in by Read
	Field     string       // column of the status; "" for the first usual one the layer has
	Values    Values       // what its values mean, laid over both built-in tables: a value named here wins
	Status    Status       // of every polygon
	HasStatus bool         // whether Status is given
	NameField string       // column of the unit's name; "" for the first usual one, if any
}

// columns are those of one layer that are read, "" for none.
type columns struct{ status, name string }

func (s Source) check() error {
	if s.HasStatus && s.Status >= statuses {
		return fmt.Errorf("%v is given for every polygon; use one of %s", s.Status, strings.Join(statusNames[:], ", "))
	}
	return nil
}

// find settles the columns.
func (s Source) find(info vector.Info) (c columns, err error) {
	c = columns{status: s.Field, name: s.NameField}
	if c.status == "" {
		c.status, _ = vector.FindField(info, usualFields...)
	}
	if c.name == "" {
		c.name, _ = vector.FindField(info, usualNameFields...)
	}
	if c.status == "" && !s.HasStatus {
		has := make([]string, len(info.Fields))
		for i, f := range info.Fields {
			has[i] = fmt.Sprintf("%q", f.Name)
		}
		if len(has) == 0 {
			has = []string{"none"}
		}
		return c, fmt.Errorf("no column that says who may enter (%s); its columns are %s: name one with field, or give all of it one status", strings.Join(usualFields, ", "), strings.Join(has, ", "))
	}
	return c, nil
}

// read gives the units of a layer that meet the frame, and what to tell the user.
func (s Source) read(ctx context.Context, f raster.Frame) (units []Unit, warnings []string, err error) {
	if err := s.check(); err != nil {
		return nil, nil, fmt.Errorf("%q: %w", s.Query.Path, err)
	}
	table, err := s.Values.overBuiltIn()
	if err != nil {
		return nil, nil, fmt.Errorf("%q: %w", s.Query.Path, err)
	}
	info, err := vector.Describe(s.Query.Path, s.Query.Layer, s.Query.CRS)
	if err != nil {
		return nil, nil, err
	}
	where := fmt.Sprintf("%q: layer %q", s.Query.Path, info.Layer)
	q := s.Query
	q.Kind, q.Fields = vector.Polygons, nil
	w, so, e, n := f.Bounds()
	q.Bounds = &[4]float64{w, so, e, n}
	var c columns
	if info.Count > 0 && info.Geometry != "None" {
		if c, err = s.find(info); err != nil {
			// A layer of lines has other faults than its columns: they come first.
			if _, other := vector.Read(ctx, q, f.WKT); other != nil {
				return nil, nil, other
			}
			return nil, nil, fmt.Errorf("%s: %w", where, err)
		}
	}
	for _, name := range []string{c.status, c.name} {
		if name != "" {
			q.Fields = append(q.Fields, name)
		}
	}
	layer, err := vector.Read(ctx, q, f.WKT)
	if errors.Is(err, vector.ErrEmpty) {
		return nil, []string{where + ": no features in it; whose land it is stays not known"}, nil
	}
	if err != nil {
		return nil, nil, err
	}
	warnings = layer.Warnings
	if s.HasStatus && c.status != "" {
		warnings = append(warnings, fmt.Sprintf("%s: column %q is read beside the status given for all of it (%v); the more cautious counts", where, c.status, s.Status))
	}
	unread := strangers{}
	for _, ft := range layer.Features {
		u := Unit{Status: s.Status, Geometry: ft.Geometry}
		if c.name != "" {
			u.Name = strings.TrimSpace(ft.Values[len(q.Fields)-1].String())
		}
		if c.status != "" {
			text := strings.TrimSpace(ft.Values[0].String())
			status, known := table.status(text)
			if text == "" && !known && s.HasStatus {
				status, known = s.Status, true
			}
			if !known {
				unread[text]++
			}
			// That land is private says more than a column that does not know it.
			owned := s.HasStatus && s.Status == Private && status == Unknown
			if !owned && (!s.HasStatus || caution(status) > caution(s.Status)) {
				u.Status = status
			}
		}
		units = append(units, u)
	}
	if len(unread) > 0 {
		warnings = append(warnings, fmt.Sprintf("%s: column %q: %s; taken as not known", where, c.status, unread))
	}
	return units, warnings, nil
}

// strangers counts the values that a table lacks.
type strangers map[string]int

// String says how many there are and which, the most frequent first.
func (v strangers) String() string {
	texts, n := make([]string, 0, len(v)), 0
	for t, k := range v {
		texts, n = append(texts, t), n+k
	}
	slices.SortFunc(texts, func(a, b string) int {
		if v[a] != v[b] {
			return v[b] - v[a]
		}
		return strings.Compare(a, b)
	})
	var parts []string
	for i, t := range texts {
		if i == 5 {
			parts = append(parts, fmt.Sprintf("and %d more", len(texts)-i))
			break
		}
		if t == "" {
			parts = append(parts, fmt.Sprintf("no value: %d", v[t]))
			continue
		}
		parts = append(parts, fmt.Sprintf("%q: %d", t, v[t]))
	}
	polygons := "polygons"
	if n == 1 {
		polygons = "polygon"
	}
	return fmt.Sprintf("%d %s with a value that is not in the table (%s)", n, polygons, strings.Join(parts, ", "))
}
