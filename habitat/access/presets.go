package access

import (
	"fmt"
	"slices"
	"strings"
)

// Preset is a kind of ground that patches are usually kept out of, how it is
// told by the tags of open street maps, and by land cover. Distances are ours:
// common practice, no source; local rules come first.
type Preset struct {
	Name      string   // for survey files
	What      string   // what it is and why, for people
	Reason    string   // in a few words, for the map
	DistanceM float64  // metres; from the centre line of roads and tracks
	Groups    []string // kinds of land cover that are the same ground, none for most
	tags      []tag
}

// tag is a column and the values that count.
type tag struct {
	column string
	values []string
}

// Columns are those that any of the preset's tags may stand in.
func (p Preset) Columns() []string {
	var out []string
	for _, t := range p.tags {
		out = append(out, t.column)
	}
	return out
}

// PresetNamed gives a preset by its name.
func PresetNamed(name string) (Preset, error) {
	all := Presets()
	known := make([]string, len(all))
	for i, p := range all {
		if p.Name == fold(name) {
			return p, nil
		}
		known[i] = p.Name
	}
	return Preset{}, fmt.Errorf("no preset %q; there are %s", name, strings.Join(known, ", "))
}

// Where is the preset as an attribute filter for a layer with these columns
// (vector.Query.Where): it names only columns the layer has, spelt as there,
// and is an error when it has none of them. The values of street maps are in
// lower case, and so are these.
func (p Preset) Where(columns []string) (string, error) {
	var parts []string
	for _, t := range p.tags {
		i := slices.IndexFunc(columns, func(c string) bool { return strings.EqualFold(c, t.column) })
		if i < 0 {
			continue
		}
		quoted := make([]string, len(t.values))
		for k, v := range t.values {
			quoted[k] = "'" + v + "'"
		}
		parts = append(parts, fmt.Sprintf(`"%s" IN (%s)`, columns[i], strings.Join(quoted, ", ")))
	}
	if len(parts) == 0 {
		has := "no columns"
		if len(columns) > 0 {
			has = fmt.Sprintf("%q", columns)
		}
		return "", fmt.Errorf("preset %q looks for tags in the columns %s, and the layer has %s; name a layer of map tags, or say which features with where", p.Name, strings.Join(p.Columns(), ", "), has)
	}
	if len(parts) == 1 {
		return parts[0], nil
	}
	return "(" + strings.Join(parts, " OR ") + ")", nil // ready to be joined with a filter of the user's
}
