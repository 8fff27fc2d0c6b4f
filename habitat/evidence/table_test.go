package evidence

import (
	"bytes"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func mustTable(t testing.TB, text string) *Table {
	t.Helper()
	table, err := ParseTable("own.csv", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

func TestMatch(t *testing.T) {
	for _, c := range []struct {
		row, value string
		want       bool
	}{
		{"Very rare", "very rare", true},
		{"Very rare", " VERYRARE ", true},
		{"Very rare", "rare", false},
		{"Rare", "Very rare", false},
		{"*fluv*", "Typic Udifluvents", true},
		{"*fluv*", "Fluvaquentic Endoaquolls", true},
		{"*fluv*", "Typic Hapludalfs", false},
		{"0.2 P*", "0.2 PCT ANNUAL CHANCE FLOOD HAZARD", true},
		{"0.2 P*", "10.2 PCT", false},
		{"*a*b", "xxaYbZb", true},
		{"*a*b", "xxaYbZ", false},
		{"a*a", "a", false}, // the ends may not share a letter
		{"a*a", "aa", true},
		{"*", "", true},
		{"*", "anything", true},
		{"A**E", "AE", true},
		{"3", "3", true},
		{"3", "3.0", true},
		{"3", " 3 ", true},
		{"3", "33", false},
		{"3", "3.5", false},
		{"0500", "500", true},
		{"500", "0500", true},
		{"A99", "A 99", true},
		{"(A.E)", "(A.E)", true},
		{"(A.E)", "(AxE)", false},
	} {
		if got := (Row{Value: c.row}).Match(c.value); got != c.want {
			t.Errorf("row %q, value %q: %v, want %v", c.row, c.value, got, c.want)
		}
	}
}

// Patterns of few letters against the regular expressions of the standard library.
func TestMatchAgainstRegexp(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	word := func(letters string) string {
		var b strings.Builder
		for range rng.IntN(7) {
			b.WriteByte(letters[rng.IntN(len(letters))])
		}
		return b.String()
	}
	hits := 0
	for range 30000 {
		pattern, value := word("ab*"), word("abAB ")
		plain := regexp.MustCompile("^" + strings.ReplaceAll(pattern, "*", ".*") + "$")
		want := plain.MatchString(strings.ToLower(strings.ReplaceAll(value, " ", "")))
		if got := (Row{Value: pattern}).Match(value); got != want {
			t.Fatalf("row %q, value %q: %v, want %v", pattern, value, got, want)
		}
		if want {
			hits++
		}
	}
	if hits < 1000 {
		t.Errorf("%d matches among them: too few to tell", hits)
	}
}

func TestPlaceOfAValue(t *testing.T) {
	m := newMatcher(mustTable(t, header+"\nx,*,1,,\nx,a*,2,,\nx,ab,3,,\nx,7,4,,\n").Rows)
	for value, want := range map[string]int{"AB": 3, "abc": 1, "7.0": 4, "": 1} {
		if got := m.place(value); got != want {
			t.Errorf("%q has place %d, want %d: exact first, then the earlier line", value, got, want)
		}
	}
}

func TestParseTable(t *testing.T) {
	got := mustTable(t, "\xef\xbb\xbf# made by hand\r\nField,Value,shift, meaning,source\r\n\r\nSoil,\"a, b\",-0.5,\"said \"\"so\"\"\",me\r\n# more\r\nsoil,*,1e0,,\r\n")
	want := &Table{Name: "own.csv", Rows: []Row{
		{"soil", "a, b", -0.5, `said "so"`, "me"},
		{"soil", "*", 1, "", ""},
	}}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("table (-want +got):\n%s", d)
	}
}

func TestParseTableRefuses(t *testing.T) {
	many := strings.Builder{}
	many.WriteString(header + "\n")
	for i := range maxRows + 1 {
		many.WriteString("x," + strings.Repeat("v", i+1) + ",1,,\n")
	}
	for _, c := range []struct{ name, text, want string }{
		{"nothing", "", `"t.csv": empty; the first line is field,value,shift,meaning,source`},
		{"remarks only", "# a\n# b\n", `"t.csv": empty`},
		{"UTF-16", "\xff\xfef\x00i\x00e\x00l\x00d\x00\n\x00", `"t.csv" is not a plain UTF-8 text table; save it as CSV in UTF-8`},
		{"UTF-16 without a mark", "\x00f\x00i\x00e\x00l\x00d", `"t.csv" is not a plain UTF-8 text table`},
		{"a GeoTIFF", "II*\x00\x08\x00\x00\x00\n" + strings.Repeat("\x00\xff", maxTableBytes), `"t.csv" is not a plain UTF-8 text table`},
		{"a picture", "\x89PNG\r\n\x1a\n", `"t.csv" is not a plain UTF-8 text table`},
		{"no rows", header + "\n# none\n", `"t.csv": no rows`},
		{"other columns", "# r\ncode,name\n1,x\n", `"t.csv", line 2: found "code,name"; want the columns`},
		{"semicolons", "field;value;shift;meaning;source\n", `line 1: found "field;value`},
		{"a column short", header + "\nx,a,1\n", `line 2: found 3 columns`},
		{"a comma too many", header + "\nx,a,1,one, two,src\n", `line 2: found 6 columns; want field,value,shift,meaning,source, with quotes`},
		{"no shift", header + "\nx,a,,m,s\n", `line 2: shift: found ""`},
		{"words for a shift", header + "\n\n#\nx,a,lots,m,s\n", `line 4: shift: found "lots"; want log-odds from -10 to 10`},
		{"not a number", header + "\nx,a,NaN,m,s\n", `line 2: shift: found NaN`},
		{"infinite", header + "\nx,a,-Inf,m,s\n", `line 2: shift: found -Inf`},
		{"beyond floats", header + "\nx,a,1e999,m,s\n", `line 2: shift: found "1e999"`},
		{"too large", header + "\nx,a,10.01,m,s\n", `line 2: shift: found 10.01; want log-odds from -10 to 10`},
		{"no field", header + "\n,a,1,m,s\n", `line 2: field: found ""`},
		{"field with a space", header + "\nflood zone,a,1,m,s\n", `line 2: field: found "flood zone"`},
		{"no value", header + "\nx, ,1,m,s\n", `line 2: value: empty`},
		{"twice", header + "\nx,Very rare,1,m,s\ny,very rare,1,m,s\nx,veryrare,2,m,s\n", `line 4: value "veryrare" of field "x" is there already ("t.csv", line 2)`},
		{"same code twice", header + "\nx,7,1,m,s\nx,07,1,m,s\n", `line 3: value "07"`},
		{"line within a text", header + "\nx,\"a\nb\",1,m,s\n", `line 2: value: found "a\nb"; want plain text on one line`},
		{"not UTF-8", header + "\nx,a,1,\xff,s\n", `line 2: meaning: found`},
		{"loose quote", header + "\nx,a\"b,1,m,s\n", `"t.csv", line 2, column 4:`},
		{"open quote", header + "\nx,\"ab,1,m,s\n", `"t.csv", line 2`},
		{"long text", header + "\nx,a,1,m," + strings.Repeat("s", maxText+1) + "\n", `line 2: source: 501 bytes`},
		{"too many rows", many.String(), `line 257: more than 255 rows for field "x"`},
		{"too large a file", strings.Repeat("#\n", maxTableBytes), "more than the 1 MiB"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseTable("t.csv", []byte(c.text))
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.ContainsAny(err.Error(), "\n\r") {
				t.Errorf("error %v, want one line with %s", err, c.want)
			}
		})
	}
}

func TestReadTable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "own.csv")
	_, text, err := Builtin("inside")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, text, 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := ReadTable(path)
	if err != nil {
		t.Fatal(err)
	}
	if want, _, _ := Builtin("inside"); !cmp.Equal(got.Rows, want.Rows) {
		t.Errorf("read %v, want %v", got.Rows, want.Rows)
	}
	for _, bad := range []string{path + ".not", t.TempDir(), "", "/vsizip/a.zip"} {
		if _, err := ReadTable(bad); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: error %v, want one line", bad, err)
		}
	}
	if err := os.WriteFile(path, bytes.Repeat([]byte("#\n"), maxTableBytes), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := ReadTable(path); err == nil || !strings.Contains(err.Error(), "1 MiB") {
		t.Errorf("2 MiB: error %v", err)
	}
}
