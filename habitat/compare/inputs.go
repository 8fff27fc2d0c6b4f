package compare

import (
	"path"
	"regexp"
	"slices"
	"strings"
)

var listPlace = regexp.MustCompile(`\[\d+\]`)

// inputChanges pairs files by role and content. A layer that only moved in a
// list, or a file of another name with the same content, is no change.
func inputChanges(a, b []inputFile) []Change {
	restA, restB := slices.Clone(a), slices.Clone(b)
	stem := func(f inputFile) string { return listPlace.ReplaceAllString(f.Role, "") }
	// take removes pairs that are alike in the eyes of same.
	take := func(same func(x, y inputFile) bool, found func(x, y inputFile)) {
		restA = slices.DeleteFunc(restA, func(x inputFile) bool {
			i := slices.IndexFunc(restB, func(y inputFile) bool { return same(x, y) })
			if i < 0 {
				return false
			}
			found(x, restB[i])
			restB = slices.Delete(restB, i, i+1)
			return true
		})
	}
	alike := func(inputFile, inputFile) {}
	take(func(x, y inputFile) bool { return x.Role == y.Role && x.SHA256 == y.SHA256 }, alike)
	take(func(x, y inputFile) bool { return stem(x) == stem(y) && x.SHA256 == y.SHA256 }, alike)
	var out []Change
	changed := func(x, y inputFile) {
		out = append(out, Change{Kind: "input", Field: "input." + y.Role, What: roleWords(y), Before: fileWords(x), After: fileWords(y)})
	}
	take(func(x, y inputFile) bool { return stem(x) == stem(y) && path.Base(x.Path) == path.Base(y.Path) }, changed)
	take(func(x, y inputFile) bool { return x.Role == y.Role }, changed)
	for _, x := range restA {
		out = append(out, Change{Kind: "input", Field: "input." + x.Role, What: roleWords(x), Before: fileWords(x)})
	}
	for _, y := range restB {
		out = append(out, Change{Kind: "input", Field: "input." + y.Role, What: roleWords(y), After: fileWords(y)})
	}
	slices.SortStableFunc(out, func(x, y Change) int { return strings.Compare(x.Field, y.Field) })
	return out
}

func fileWords(f inputFile) string {
	sum := f.SHA256
	if len(sum) > 8 {
		sum = sum[:8]
	}
	return path.Base(f.Path) + " (sha256 " + sum + ")"
}

// roleWords are the plain name of an input.
func roleWords(f inputFile) string {
	role := listPlace.ReplaceAllString(f.Role, "")
	for _, n := range []struct{ role, words string }{
		{"inventory.trees.surveyed", "layer of the ground where trees were recorded"}, {"evidence.layers.table", "table of an evidence layer"},
		{"inventory.rasters", "layer of measured host trees"}, {"inventory.trees", "layer of single trees"},
		{"evidence.flood_zones", "layer of flood zones"}, {"evidence.soils", "layer of soils"}, {"evidence.layers", "layer of evidence"},
		{"approach.", "layer of " + strings.TrimPrefix(role, "approach.")}, {"access", "layer of who may enter"}, {"keep_out", "layer of ground to keep out of"},
		{"elevation", "elevation"}, {"streams", "streams"}, {"landcover", "land cover"}, {"area", "area"}, {"legend", "legend of the land cover"},
	} {
		if strings.HasPrefix(role, n.role) {
			if _, host, ok := strings.Cut(role, " "); ok {
				return n.words + " (" + host + ")"
			}
			return n.words
		}
	}
	if role == "" {
		return "a file whose use the record does not tell"
	}
	return role
}
