package evidence

import (
	"fmt"
	"maps"
	"slices"
	"strings"
)

// insideField is the field whose value is "yes" in every polygon of a layer
// that has no column for it.
const insideField = "inside"

// usualNames are the columns in which published layers keep a field, best
// first: soil surveys' map-unit tables (dominant condition before maximum) and
// component tables, flood-hazard layers. The field's own name is tried last.
var usualNames = map[string][]string{
	"flooding": {"flodfreqcd", "flodfreqdcd", "flodfreqmax", "flodfreqcl"},
	"drainage": {"drclassdcd", "drainagecl", "drainclass"},
	"subgroup": {"taxsubgrp"},
	"zone":     {"FLD_ZONE", "SFHA_TF"},
	"subtype":  {"ZONE_SUBTY"},
}

// namesOf lists the columns a field is looked for under.
func namesOf(field string) []string {
	return append(slices.Clone(usualNames[field]), field)
}

// shapefileName is how long a column's name may be in a Shapefile's table
// (dBASE III); longer ones are cut when a layer is saved as one.
const shapefileName = 10

// column is a field of the table and the layer's column for it.
type column struct{ field, name string }

// findColumns finds the layer's columns (have) for the table's fields.
func findColumns(s Source, have []string) ([]column, error) {
	find := func(want string) string {
		if i := slices.Index(have, want); i >= 0 {
			return have[i]
		}
		if i := slices.IndexFunc(have, func(h string) bool { return strings.EqualFold(h, want) }); i >= 0 {
			return have[i]
		}
		return ""
	}
	var out []column
	for _, field := range s.Table.Fields() {
		if named := s.Fields[field]; named != "" {
			name := find(named)
			if name == "" {
				return nil, fmt.Errorf("%q has no column %q for field %q; it has %s", s.Query.Path, short(named), field, list(have))
			}
			out = append(out, column{field, name})
			continue
		}
		name := ""
		for _, n := range namesOf(field) {
			if name == "" {
				name = find(n)
			}
			if name == "" && len(n) > shapefileName {
				name = find(n[:shapefileName])
			}
		}
		if name != "" || field == insideField {
			out = append(out, column{field, name})
		}
	}
	if len(out) == 0 {
		var wanted []string
		for _, field := range s.Table.Fields() {
			wanted = append(wanted, namesOf(field)...)
		}
		return nil, fmt.Errorf("%q has none of the columns that the table %q reads (%s); it has %s; name the right one under fields", s.Query.Path, s.Table.Name, list(wanted), list(have))
	}
	return out, nil
}

// file is the first file of the layer, for messages.
func (s Source) file() string {
	if s.Raster != nil && len(s.Raster.Paths) > 0 {
		return s.Raster.Paths[0]
	}
	return s.Query.Path
}

// codeField tells which field of the table a raster's codes belong to: the one
// named, the only one, or the only one whose values are whole numbers.
func codeField(s Source) (string, error) {
	if len(s.Fields) > 1 {
		return "", fmt.Errorf("fields: %d named; a raster has one value a cell, so name one of %s", len(s.Fields), list(s.Table.Fields()))
	}
	for field := range s.Fields {
		return field, nil
	}
	fields := s.Table.Fields()
	if len(fields) > 1 {
		fields = slices.DeleteFunc(fields, func(field string) bool {
			return !slices.ContainsFunc(s.Table.rowsOf(field), func(r Row) bool { return newPattern(r.Value).isCode })
		})
	}
	if len(fields) != 1 {
		return "", fmt.Errorf("%q: it is not clear which field of the table %q the raster's codes belong to; name one of %s under fields", s.file(), s.Table.Name, list(s.Table.Fields()))
	}
	return fields[0], nil
}

// has is an error where the table lacks a field.
func (t *Table) has(field string) error {
	if slices.Contains(t.Fields(), field) {
		return nil
	}
	return fmt.Errorf("fields: the table %q has no field %q; it has %s", t.Name, short(field), list(t.Fields()))
}

func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

// list writes names for an error line.
func list(names []string) string {
	const most = 40
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(names)-most))
			break
		}
		out = append(out, fmt.Sprintf("%q", short(n)))
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}
