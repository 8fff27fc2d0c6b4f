package vector

import (
	"strings"
	"testing"
)

func TestFindField(t *testing.T) {
	info := Info{Fields: []FieldInfo{{"FCode", "Integer"}, {"gnis_name", "String"}, {"GNIS_NAME", "String"}, {"Ünit", "String"}}}
	for _, c := range []struct {
		usual []string
		want  string
	}{
		{[]string{"fcode"}, "FCode"},
		{[]string{"none", "FCODE", "gnis_name"}, "FCode"},
		{[]string{"GNIS_NAME"}, "GNIS_NAME"}, // the exact name goes before another case
		{[]string{"Gnis_Name"}, "gnis_name"},
		{[]string{"üNIT"}, "Ünit"},
		{[]string{"code", ""}, ""},
		{nil, ""},
	} {
		got, ok := FindField(info, c.usual...)
		if got != c.want || ok != (c.want != "") {
			t.Errorf("%q: got %q, %t; want %q", c.usual, got, ok, c.want)
		}
	}
}

func TestUnknownFieldIsNamedWithTheNearest(t *testing.T) {
	have := []FieldInfo{{"FLD_ZONE", "String"}, {"ZONE_SUBTY", "String"}, {"bad\x1b[31m\nname", "String"}}
	for _, c := range []struct{ want, hint string }{
		{"FLDZONE", `did you mean "FLD_ZONE"?`},
		{"zone_subtyp", `did you mean "ZONE_SUBTY"?`},
		{"drainage", ""},
		{"", ""},
		{"x\x07y", ""},
		{strings.Repeat("z", 100000), ""},
	} {
		_, err := fieldIndexes(have, []string{"fld_zone", c.want})
		if err == nil {
			t.Fatalf("%q: no error", c.want)
		}
		if !strings.Contains(err.Error(), `"FLD_ZONE", "ZONE_SUBTY", "bad\x1b[31m\nname"`) || strings.HasSuffix(err.Error(), "?") != (c.hint != "") || !strings.HasSuffix(err.Error(), c.hint) {
			t.Errorf("%.20q: error %q, want hint %q", c.want, err, c.hint)
		}
		oneCleanLine(t, err.Error())
	}
}

// The classic example of Levenshtein's distance, and its laws on small words.
func TestEdits(t *testing.T) {
	if d := edits([]rune("kitten"), []rune("sitting")); d != 3 {
		t.Errorf("kitten to sitting: %d, want 3", d)
	}
	words := []string{"", "a", "ab", "ba", "abc", "order", "ordr", "border"}
	for _, u := range words {
		for _, v := range words {
			d := edits([]rune(u), []rune(v))
			if d != edits([]rune(v), []rune(u)) || (d == 0) != (u == v) || d > max(len(u), len(v)) {
				t.Errorf("%q to %q: %d", u, v, d)
			}
			for _, w := range words {
				if d > edits([]rune(u), []rune(w))+edits([]rune(w), []rune(v)) {
					t.Errorf("%q to %q by way of %q is shorter", u, v, w)
				}
			}
		}
	}
}
