package field

import (
	"fmt"
	"strings"
	"testing"
)

// A hundred thousand rows, one a stop: read from a table, appended to an
// empty store, and loaded.
func BenchmarkHundredThousandRows(b *testing.B) {
	const rows = 100_000
	var text strings.Builder
	text.WriteString(head)
	for i := range rows {
		fmt.Fprintf(&text, "2025-11-%02d,s%d,%.5f,%.5f,elm,dead,%d,0,\n", 1+i%28, i, -87-float64(i%1000)/1000, 43+float64(i)/rows, 1+i%20)
	}
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			mustParse(b, text.String(), options())
		}
	})
	records := mustParse(b, text.String(), options()).Records
	b.Run("append", func(b *testing.B) {
		for b.Loop() {
			add(b, open(b, b.TempDir()), records, rows, 0)
		}
	})
	s := open(b, b.TempDir())
	add(b, s, records, rows, 0)
	b.Run("load", func(b *testing.B) {
		for b.Loop() {
			if got, _, err := s.Load(); err != nil || len(got) != rows {
				b.Fatal(len(got), err)
			}
		}
	})
}
