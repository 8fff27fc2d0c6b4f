package field

import (
	"fmt"
	"slices"
	"strings"
)

// Columns are the columns of a table of records, in the order of the
// template. No name is longer than the ten letters a shapefile keeps.
var Columns = []string{
	"date", "stop", "lon", "lat", "accuracy_m", "run", "candidate", "host", "condition",
	"inspected", "found", "minutes", "observer", "confirmed", "note",
}

// usual are other names under which a column is found, the likeliest first.
var usual = map[string][]string{
	"date":       {"day", "datetime", "time", "timestamp"},
	"stop":       {"stop_id", "site", "site_id", "plot"},
	"lon":        {"longitude", "lng", "long", "x", "easting"},
	"lat":        {"latitude", "y", "northing"},
	"accuracy_m": {"accuracy", "precision_m", "hacc"},
	"run":        {"run_id"},
	"candidate":  {"rank", "candidate_id", "patch"},
	"host":       {"species", "tree", "tree_species"},
	"condition":  {"state", "status"},
	"inspected":  {"trees", "checked", "n"},
	"found":      {"finds", "hits"},
	"minutes":    {"min", "mins", "minutes_spent"},
	"observer":   {"who", "recorder", "src"},
	"confirmed":  {"spore_print", "print"},
	"note":       {"notes", "remark", "remarks", "comment"},
}

// ours are columns of our own files that are not read.
var ours = []string{"id", "flags", "row"}

// noteColumns may hold the note convention, where a table has no host column.
var noteColumns = []string{"name", "title", "desc", "description", "cmt", "comment", "note", "notes"}

// columns finds, for each of Columns, its place in the table, −1 for none.
func (t *table) columns(o Options) (map[string]int, error) {
	for _, ours := range sortedKeys(o.Map) {
		if !slices.Contains(Columns, ours) {
			return nil, fmt.Errorf("--map: %q is no column of a record; %s", clipped(ours), nearest(ours, slices.Clone(Columns), "they are "+strings.Join(Columns, ", ")))
		}
	}
	at := map[string]int{}
	for _, c := range Columns {
		if theirs, mapped := o.Map[c]; mapped {
			k := t.column(theirs)
			if k < 0 {
				return nil, fmt.Errorf("%q: --map %s: no column %q; it has %s", t.file, c, clipped(theirs), quoted(t.names))
			}
			at[c] = k
			continue
		}
		names := append([]string{c}, usual[c]...)
		if o.CRS != "" && c == "lon" {
			names = []string{"x", "easting", "lon", "longitude"}
		}
		if o.CRS != "" && c == "lat" {
			names = []string{"y", "northing", "lat", "latitude"}
		}
		at[c] = -1
		for _, n := range names {
			if k := t.column(n); k >= 0 {
				at[c] = k
				break
			}
		}
	}
	return at, nil
}

func (t *table) column(name string) int {
	if k := slices.Index(t.names, name); k >= 0 {
		return k
	}
	return slices.IndexFunc(t.names, func(n string) bool {
		return strings.EqualFold(strings.ReplaceAll(n, " ", "_"), strings.ReplaceAll(name, " ", "_"))
	})
}

// unused names the columns that nothing is read from.
func (t *table) unused(at map[string]int, also []int) []string {
	var out []string
	for k, n := range t.names {
		used := n == "" || slices.Contains(ours, n) || slices.Contains(also, k)
		for _, c := range at {
			used = used || c == k
		}
		if !used {
			out = append(out, n)
		}
	}
	return out
}

func sortedKeys(m map[string]string) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// quoted lists names for an error line, not too many.
func quoted(names []string) string {
	const most = 20
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(names)-most))
			break
		}
		out = append(out, fmt.Sprintf("%q", clipped(n)))
	}
	if out == nil {
		return "none"
	}
	return strings.Join(out, ", ")
}
