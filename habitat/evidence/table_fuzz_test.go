package evidence

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A table either reads, obeys its rules and reads back equal after being
// written out, or is refused in one line that names it.
func FuzzTable(f *testing.F) {
	for _, name := range BuiltinNames() {
		_, text, err := Builtin(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte(header + "\nx,\"a, \"\"b\"\"\",-1e-3,,\n"))
	f.Add([]byte(header + "\nx,0x1p4,+.5,,\nx,16,1,,\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := ParseTable("t.csv", data)
		if err != nil {
			if m := err.Error(); !strings.HasPrefix(m, `"t.csv"`) || strings.ContainsAny(m, "\n\r\x00") {
				t.Fatalf("error is not one line about the file: %q", m)
			}
			return
		}
		for _, field := range table.Fields() {
			m := newMatcher(table.rowsOf(field))
			for _, r := range m.rows {
				if !r.Match(r.Value) || m.place(r.Value) == 0 {
					t.Fatalf("row %q does not match its own value", r.Value)
				}
			}
		}
		var out bytes.Buffer
		w := csv.NewWriter(&out)
		w.Write(columns)
		for _, r := range table.Rows {
			w.Write([]string{r.Field, r.Value, strconv.FormatFloat(r.Shift, 'g', -1, 64), r.Meaning, r.Source})
		}
		w.Flush()
		again, err := ParseTable("t.csv", out.Bytes())
		if err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
		if d := cmp.Diff(table, again); d != "" {
			t.Errorf("written and read again (-want +got):\n%s", d)
		}
	})
}
