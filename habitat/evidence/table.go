package evidence

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rillwood/vector"
)

// MaxRowShift is the largest shift a row may have, in log-odds: odds of
// 22,000 to 1, far beyond what a map can vouch for.
const MaxRowShift = 10

// maxRows is how many rows a field may have: places are kept in a byte.
const maxRows = 255

// Table says what the values of a layer's columns are worth.
type Table struct {
	Name string
	Rows []Row
}

// Row is one value of one field. Field is the table's own word for the column
// ("flooding", "drainage", "zone"); which column of a layer that is, is found
// when the layer is read. Shift is in log-odds of bottomland, positive for
// bottomland. Meaning is for people, Source says where value and shift come from.
type Row struct {
	Field, Value    string
	Shift           float64
	Meaning, Source string
}

// Match tells whether the row speaks of a value (vector.Value's text). Case and
// spaces do not count; a * stands for any number of characters; a whole number
// also matches the same number written otherwise ("0500", "500.0").
func (r Row) Match(value string) bool {
	return newPattern(r.Value).match(value)
}

// wild tells whether the row's value has a *.
func (r Row) wild() bool { return strings.Contains(r.Value, "*") }

// Fields lists the table's fields, first seen first.
func (t *Table) Fields() []string {
	var out []string
	for _, r := range t.Rows {
		if !slices.Contains(out, r.Field) {
			out = append(out, r.Field)
		}
	}
	return out
}

// rowsOf gives the rows of one field in the table's order.
func (t *Table) rowsOf(field string) []Row {
	var out []Row
	for _, r := range t.Rows {
		if r.Field == field {
			out = append(out, r)
		}
	}
	return out
}

// check holds a table against its rules. where names the place of row i for an
// error.
func (t *Table) check(where func(i int) string) error {
	if len(t.Rows) == 0 {
		return fmt.Errorf("%q: no rows; each value wants a line under %s", t.Name, header)
	}
	type key struct{ field, value string }
	first := map[key]int{}
	count := map[string]int{}
	for i, r := range t.Rows {
		if err := r.check(); err != nil {
			return fmt.Errorf("%s: %w", where(i), err)
		}
		k := key{r.Field, newPattern(r.Value).key()}
		if j, twice := first[k]; twice {
			return fmt.Errorf("%s: value %q of field %q is there already (%s); leave one", where(i), r.Value, r.Field, where(j))
		}
		first[k] = i
		if count[r.Field]++; count[r.Field] > maxRows {
			return fmt.Errorf("%s: more than %d rows for field %q; join values with *", where(i), maxRows, r.Field)
		}
	}
	return nil
}

// Longest texts of a row, in bytes.
const (
	maxField = 32
	maxText  = 500
)

func (r Row) check() error {
	if r.Field == "" || len(r.Field) > maxField || strings.Trim(r.Field, "abcdefghijklmnopqrstuvwxyz0123456789_-") != "" {
		return fmt.Errorf("field: found %q; want up to %d of the characters a–z, 0–9, _ and -", short(r.Field), maxField)
	}
	for _, c := range [...]struct{ name, text string }{{"value", r.Value}, {"meaning", r.Meaning}, {"source", r.Source}} {
		if len(c.text) > maxText {
			return fmt.Errorf("%s: %d bytes; want at most %d", c.name, len(c.text), maxText)
		}
		if !utf8.ValidString(c.text) || strings.ContainsFunc(c.text, unicode.IsControl) {
			return fmt.Errorf("%s: found %q; want plain text on one line, in UTF-8", c.name, short(c.text))
		}
	}
	if squeeze(r.Value) == "" {
		return fmt.Errorf("value: empty; name the value of field %q, or * for any", r.Field)
	}
	if !(math.Abs(r.Shift) <= MaxRowShift) {
		return fmt.Errorf("shift: found %g; want log-odds from -%d to %d", r.Shift, MaxRowShift, MaxRowShift)
	}
	return nil
}

// pattern is a row's value made ready to be matched.
type pattern struct {
	parts  []string // between the *, squeezed
	code   int64
	isCode bool
}

func newPattern(value string) pattern {
	p := pattern{parts: strings.Split(squeeze(value), "*")}
	if len(p.parts) == 1 {
		p.code, p.isCode = vector.TextValue(value).Int()
	}
	return p
}

// key is equal for patterns that match the same values.
func (p pattern) key() string {
	if p.isCode {
		return fmt.Sprint(p.code)
	}
	k := strings.Join(p.parts, "*")
	for strings.Contains(k, "**") {
		k = strings.ReplaceAll(k, "**", "*")
	}
	return k
}

func (p pattern) match(value string) bool {
	if p.isCode {
		if n, ok := vector.TextValue(value).Int(); ok {
			return n == p.code
		}
	}
	rest, ok := strings.CutPrefix(squeeze(value), p.parts[0])
	if !ok || len(p.parts) == 1 {
		return ok && rest == ""
	}
	last := len(p.parts) - 1
	for _, part := range p.parts[1:last] {
		_, after, found := strings.Cut(rest, part)
		if !found {
			return false
		}
		rest = after
	}
	return strings.HasSuffix(rest, p.parts[last])
}

// squeeze takes out case and spaces.
func squeeze(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsSpace(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, s)
}

// matcher finds the rows of one field.
type matcher struct {
	rows     []Row
	patterns []pattern
	known    map[string]int
}

func newMatcher(rows []Row) *matcher {
	m := &matcher{rows: rows, known: map[string]int{}}
	for _, r := range rows {
		m.patterns = append(m.patterns, newPattern(r.Value))
	}
	return m
}

// place gives the place of a value's row plus one, 0 for a value that no row
// matches. A row without * goes before those with one, then the earlier row.
func (m *matcher) place(value string) int {
	if p, ok := m.known[value]; ok {
		return p
	}
	place := 0
	for _, wild := range [2]bool{false, true} {
		for i := range m.rows {
			if place == 0 && m.rows[i].wild() == wild && m.patterns[i].match(value) {
				place = i + 1
			}
		}
	}
	m.known[value] = place
	return place
}

// short cuts a user's text for an error line.
func short(s string) string {
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}
