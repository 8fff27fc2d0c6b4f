package vector

import (
	"fmt"
	"strings"
)

// checkWhere refuses a filter that names a field the layer lacks in double
// quotes: SQLite would take the unknown name for a text and find nothing.
func checkWhere(where string, l ogrLayer, fields []FieldInfo) error {
	if where == "" {
		return nil
	}
	if strings.ContainsRune(where, 0) {
		return fmt.Errorf("filter %q: not text", where)
	}
	for rest := where; rest != ""; {
		i := strings.IndexAny(rest, `"'`)
		if i < 0 {
			break
		}
		quote := rest[i]
		word, after, closed := strings.Cut(rest[i+1:], string(quote))
		if !closed {
			return fmt.Errorf("filter %q: a %c is not closed", where, quote)
		}
		rest = after
		if quote == '\'' || strings.EqualFold(word, l.keyColumn()) || strings.EqualFold(word, l.shapeColumn()) || strings.EqualFold(word, "FID") {
			continue
		}
		if _, err := fieldIndexes(fields, []string{word}); err != nil {
			return fmt.Errorf("filter %q: %w", where, err)
		}
	}
	return nil
}
