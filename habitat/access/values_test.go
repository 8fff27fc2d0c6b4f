package access

import (
	"strings"
	"testing"
)

// The codes are those of the data dictionary of the US inventory of protected
// areas (Pub_Access), and the access tag of open street maps, from memory.
func TestTables(t *testing.T) {
	for _, c := range []struct {
		table string
		v     Values
		text  string
		want  Status
		known bool
	}{
		{"areas", ProtectedAreas(), "OA", Open, true},
		{"areas", ProtectedAreas(), " ra ", Permit, true},
		{"areas", ProtectedAreas(), "XA", Closed, true},
		{"areas", ProtectedAreas(), "UK", Unknown, true},
		{"areas", ProtectedAreas(), "Open Access", Open, true},
		{"areas", ProtectedAreas(), "Restricted Access", Permit, true},
		{"areas", ProtectedAreas(), "Closed", Closed, true},
		{"areas", ProtectedAreas(), "Unknown", Unknown, true},
		{"areas", ProtectedAreas(), "yes", Unknown, false},
		{"areas", ProtectedAreas(), "O", Unknown, false},
		{"map", StreetMap(), "yes", Open, true},
		{"map", StreetMap(), "Designated", Open, true},
		{"map", StreetMap(), "permissive", Open, true},
		{"map", StreetMap(), "permit", Permit, true},
		{"map", StreetMap(), "private", Private, true},
		{"map", StreetMap(), "customers", Private, true},
		{"map", StreetMap(), "no", Closed, true},
		{"map", StreetMap(), "OA", Unknown, false},
		{"map", StreetMap(), "", Unknown, false},
		{"map", StreetMap(), "yes;private", Private, true},
		{"map", StreetMap(), "permit; yes", Permit, true},
		{"map", StreetMap(), "yes;perhaps", Unknown, false},
		{"map", StreetMap(), "perhaps;no", Closed, false},
		{"map", StreetMap(), ";", Unknown, false},
		{"own", Values{" 1 ": Open, "Club": Private}, "1", Open, true},
		{"own", Values{" 1 ": Open, "Club": Private}, "club", Private, true},
	} {
		v, err := c.v.folded()
		if err != nil {
			t.Fatal(err)
		}
		if got, known := v.status(c.text); got != c.want || known != c.known {
			t.Errorf("%s: %q is %v, %t; want %v, %t", c.table, c.text, got, known, c.want, c.known)
		}
	}
}

// Callers look up lower-case words in the tables as they stand.
func TestTablesAreFolded(t *testing.T) {
	for _, v := range []Values{ProtectedAreas(), StreetMap()} {
		for k := range v {
			if k != fold(k) {
				t.Errorf("%q", k)
			}
		}
	}
	areas := ProtectedAreas()
	for k, s := range StreetMap() {
		if other, twice := areas[k]; twice && other != s {
			t.Errorf("%q means %v in one table and %v in the other, yet both are used together", k, other, s)
		}
	}
}

func TestValuesRefused(t *testing.T) {
	for _, c := range []struct {
		v    Values
		want string
	}{
		{Values{"A": Open, "a ": Closed}, `values "A" and "a " are the same`},
		{Values{"A": Status(7)}, `value "A" means status 7`},
	} {
		if _, err := c.v.folded(); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v; want %q", c.v, err, c.want)
		}
	}
	if _, err := (Values{"A": Open, "a ": Open}).folded(); err != nil {
		t.Error(err)
	}
}

// Whatever a layer says, only the texts of the table, or lists of them alone,
// are open.
func FuzzValues(f *testing.F) {
	for _, s := range []string{"OA", "yes", "yes;no", "", " YES ", "yes;", ";;", "open access", "\xff", "İ", "yes ; designated"} {
		f.Add(s)
	}
	table, err := both().folded()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, known := table.status(s)
		if got >= statuses {
			t.Fatalf("%q is %v", s, got)
		}
		if got != Open {
			return
		}
		if !known {
			t.Errorf("%q is not known, yet open", s)
		}
		for _, part := range strings.Split(s, ";") {
			if w := strings.ToLower(strings.TrimSpace(part)); table[w] != Open {
				t.Errorf("%q is open, with %q in it", s, w)
			}
		}
	})
}
