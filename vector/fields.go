package vector

import (
	"fmt"
	"slices"
	"strings"
)

// FindField looks for the first of the usual names that a layer has, whatever
// their case, and gives it as the layer writes it. ok is false when it has none.
func FindField(info Info, usual ...string) (name string, ok bool) {
	for _, u := range usual {
		if i := fieldIndex(info.Fields, u); i >= 0 {
			return info.Fields[i].Name, true
		}
	}
	return "", false
}

// fieldIndex finds a field: by its exact name, else whatever the case; −1
// when there is none.
func fieldIndex(have []FieldInfo, name string) int {
	if i := slices.IndexFunc(have, func(f FieldInfo) bool { return f.Name == name }); i >= 0 {
		return i
	}
	return slices.IndexFunc(have, func(f FieldInfo) bool { return strings.EqualFold(f.Name, name) })
}

// fieldIndexes finds fields by name, whatever their case.
func fieldIndexes(have []FieldInfo, want []string) ([]int, error) {
	out := make([]int, len(want))
	for j, w := range want {
		if out[j] = fieldIndex(have, w); out[j] >= 0 {
			continue
		}
		names := make([]string, len(have))
		for i, f := range have {
			names[i] = f.Name
		}
		hint := ""
		if near, ok := NearestName(w, names); ok {
			hint = fmt.Sprintf("; did you mean %q?", near)
		}
		return nil, fmt.Errorf("no field %q; it has %s%s", w, list(names), hint)
	}
	return out, nil
}

// NearestName gives the first of the names that fewest edits make of the word,
// whatever the case, when a third of its letters or fewer are to be changed
// (at least one may be).
func NearestName(word string, names []string) (string, bool) {
	w := []rune(strings.ToLower(word))
	if len(w) == 0 || len(w) > 200 {
		return "", false
	}
	best, limit := "", max(1, len(w)/3)+1
	for _, n := range names {
		if d := edits(w, []rune(strings.ToLower(n))); d < limit {
			best, limit = n, d
		}
	}
	return best, best != ""
}

// edits counts the letters to insert, drop or change to make b of a
// (Levenshtein's distance).
func edits(a, b []rune) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range a {
		corner := row[0]
		row[0] = i + 1
		for j, y := range b {
			change := corner
			if x != y {
				change++
			}
			corner = row[j+1]
			row[j+1] = min(change, corner+1, row[j]+1)
		}
	}
	return row[len(b)]
}

// list writes names for an error line.
func list(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	const most = 40
	quoted := make([]string, 0, len(names))
	for i, n := range names {
		if i == most {
			quoted = append(quoted, fmt.Sprintf("and %d more", len(names)-most))
			break
		}
		quoted = append(quoted, fmt.Sprintf("%q", n))
	}
	return strings.Join(quoted, ", ")
}
