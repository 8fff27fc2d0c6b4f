package evidence

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"rillwood/internal/shareddata"
)

// Published vocabularies. Flooding frequency and natural drainage classes: Soil
// Survey Manual (USDA Handbook 18) and National Soil Survey Handbook part 618.
// Zones: domain of FLD_ZONE in the US national flood-hazard layer, and the
// numbered zones of older maps (A1–A30, from memory).
var published = map[string][]string{
	"flooding": {"None", "Very rare", "Rare", "Occasional", "Frequent", "Very frequent"},
	"drainage": {"Excessively drained", "Somewhat excessively drained", "Well drained", "Moderately well drained",
		"Somewhat poorly drained", "Poorly drained", "Very poorly drained", "Subaqueous"},
	"zone": {"A", "AE", "AH", "AO", "A1", "A15", "A30", "A99", "AR", "V", "VE", "X", "D", "OPEN WATER", "AREA NOT INCLUDED", "T", "F"},
	"subtype": {"FLOODWAY", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD", "AREA OF MINIMAL FLOOD HAZARD",
		"AREA WITH REDUCED FLOOD RISK DUE TO LEVEE"},
}

func builtin(t testing.TB, name string) *Table {
	t.Helper()
	table, _, err := Builtin(name)
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// shiftOf gives what the built-in tables make of a value.
func shiftOf(t testing.TB, field, value string) float64 {
	t.Helper()
	for _, name := range BuiltinNames() {
		if rows := builtin(t, name).rowsOf(field); len(rows) > 0 {
			place := newMatcher(rows).place(value)
			if place == 0 {
				t.Fatalf("%s %q has no row in %s", field, value, name)
			}
			if r := rows[place-1]; r.wild() && field != "subgroup" {
				t.Errorf("%s %q is a published value and wants a row of its own, not %q", field, value, r.Value)
			}
			return rows[place-1].Shift
		}
	}
	t.Fatalf("no table has the field %q", field)
	return 0
}

func TestPublishedVocabularyHasRows(t *testing.T) {
	for field, values := range published {
		for _, v := range values {
			shiftOf(t, field, v)
			shiftOf(t, field, strings.ToUpper(v))
		}
	}
}

// The lists kept outside the repository, where they are present.
func TestSharedVocabularyHasRows(t *testing.T) {
	data, err := os.ReadFile(shareddata.Path(t, "checks", "legends.json"))
	if err != nil {
		t.Fatal(err)
	}
	var lists struct {
		Flooding map[string]any    `json:"ssurgo_flooding"`
		Drainage []string          `json:"ssurgo_drainage"`
		Zones    map[string]string `json:"fema_fld_zone"`
	}
	if err := json.Unmarshal(data, &lists); err != nil {
		t.Fatal(err)
	}
	if len(lists.Flooding) < 6 || len(lists.Drainage) < 7 || len(lists.Zones) < 10 {
		t.Fatalf("%d, %d, %d values: the lists are not what they were", len(lists.Flooding), len(lists.Drainage), len(lists.Zones))
	}
	for v := range lists.Flooding {
		if v != "unit" {
			shiftOf(t, "flooding", v)
		}
	}
	for _, v := range lists.Drainage {
		shiftOf(t, "drainage", v)
	}
	for v := range lists.Zones {
		shiftOf(t, "zone", v)
	}
}

// What the shifts must say, whatever their size (common practice, no source):
// the order of the classes, and silence where the map is silent.
func TestBuiltinJudgements(t *testing.T) {
	for _, c := range []struct {
		field string
		order []string // from worse to better, strictly
	}{
		{"flooding", []string{"None", "Rare", "Occasional"}},
		{"flooding", []string{"None", "Very rare", "Rare", "Frequent"}},
		{"flooding", []string{"None", "Very frequent", "Frequent"}},
		{"drainage", []string{"Excessively drained", "Somewhat excessively drained", "Well drained", "Moderately well drained", "Somewhat poorly drained"}},
		{"drainage", []string{"Subaqueous", "Very poorly drained", "Poorly drained", "Somewhat poorly drained"}},
		{"subgroup", []string{"Typic Hapludalfs", "Cumulic Hapludolls", "Fluvaquentic Endoaquolls"}},
		{"zone", []string{"X", "AO", "AE"}},
		{"zone", []string{"VE", "A"}},
		{"zone", []string{"F", "T"}},
		{"subtype", []string{"AREA OF MINIMAL FLOOD HAZARD", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD"}},
	} {
		for i := 1; i < len(c.order); i++ {
			if a, b := shiftOf(t, c.field, c.order[i-1]), shiftOf(t, c.field, c.order[i]); !(a < b) {
				t.Errorf("%s: %q has %g, %q has %g; want less", c.field, c.order[i-1], a, c.order[i], b)
			}
		}
	}
	for field, values := range map[string][]string{
		"zone":     {"X", "D", "OPEN WATER", "AREA NOT INCLUDED", "F", "C"},
		"subtype":  {"AREA OF MINIMAL FLOOD HAZARD"},
		"inside":   {"no", "0", "False"},
		"subgroup": {"Typic Hapludalfs"},
	} {
		for _, v := range values {
			if s := shiftOf(t, field, v); s != 0 {
				t.Errorf("%s %q has %g; not mapped is not evidence against", field, v, s)
			}
		}
	}
	if s := shiftOf(t, "flooding", "None"); !(s < 0) {
		t.Errorf("flooding None has %g, want evidence against", s)
	}
	if s := shiftOf(t, "inside", "yes"); s != 2 {
		t.Errorf("inside has %g, want 2", s)
	}
	for _, s := range []struct{ field, short, long string }{
		{"flooding", "freq", "Frequent"}, {"flooding", "OC", "Occasional"}, {"drainage", "well", "Well drained"},
		{"drainage", "SP", "Somewhat poorly drained"}, {"subtype", "0500", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD"}, {"subtype", "1100", "FLOODWAY"},
	} {
		if a, b := shiftOf(t, s.field, s.short), shiftOf(t, s.field, s.long); a != b {
			t.Errorf("%s: %q has %g, %q has %g", s.field, s.short, a, s.long, b)
		}
	}
}

// Every shift of ours says that it is ours, and has words for people.
func TestBuiltinRowsNameTheirSource(t *testing.T) {
	for _, name := range BuiltinNames() {
		for _, r := range builtin(t, name).Rows {
			if !strings.HasSuffix(r.Source, "common practice, no source") {
				t.Errorf("%s: %s %q: source %q", name, r.Field, r.Value, r.Source)
			}
			if r.Meaning == "" {
				t.Errorf("%s: %s %q: no meaning", name, r.Field, r.Value)
			}
		}
	}
	if _, _, err := Builtin("ponds"); err == nil || !strings.Contains(err.Error(), "soils, flood-zones, inside") {
		t.Errorf("unknown table: error %v", err)
	}
	if got, want := fmt.Sprint(builtin(t, "soils").Fields(), builtin(t, "flood-zones").Fields(), builtin(t, "inside").Fields()),
		"[flooding drainage subgroup] [zone subtype] [inside]"; got != want {
		t.Errorf("fields %s, want %s", got, want)
	}
	for i := 1; i <= 30; i++ {
		if s := shiftOf(t, "zone", fmt.Sprint("A", i)); s != shiftOf(t, "zone", "AE") {
			t.Errorf("zone A%d has %g", i, s)
		}
	}
	if slices.ContainsFunc(builtin(t, "flood-zones").rowsOf("zone"), Row.wild) {
		t.Error("a zone with * would take strange zones for known ones")
	}
}
