package results

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// mostBytes is the largest record, shortlist or file of ways that is read.
const mostBytes = 1 << 29

// ReadFile reads a plain file that a run wrote, of at most 512 MB.
func ReadFile(path string) ([]byte, error) {
	s, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%q is missing; the folder holds no finished run", path)
	case err != nil:
		return nil, fmt.Errorf("%q cannot be read: %w", path, err)
	case !s.Mode().IsRegular():
		return nil, fmt.Errorf("%q is no plain file", path)
	case s.Size() > mostBytes:
		return nil, fmt.Errorf("%q has %d MB, more than a run writes", path, s.Size()>>20)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("%q cannot be read: %w", path, err)
	}
	return data, nil
}

// Damaged puts a fault of JSON into words that name line and field.
func Damaged(data []byte, err error) error {
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) {
		at := min(int(syntax.Offset), len(data))
		return fmt.Errorf("line %d: no JSON (%v); the file is damaged, make the map again", 1+bytes.Count(data[:at], []byte("\n")), syntax)
	}
	if kind := (*json.UnmarshalTypeError)(nil); errors.As(err, &kind) {
		field := kind.Field
		if field == "" {
			field = "the whole"
		}
		return fmt.Errorf("%q is a JSON %s where another kind is wanted; the file is damaged, make the map again", Clip(field, 60), kind.Value)
	}
	return fmt.Errorf("no JSON (%v); the file is damaged, make the map again", err)
}

// Clip shortens a text to n characters.
func Clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
