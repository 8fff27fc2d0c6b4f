package evidence

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"rillwood/raster"
)

// maxTableBytes is more than any table needs and little enough to read whole.
const maxTableBytes = 1 << 20

var columns = []string{"field", "value", "shift", "meaning", "source"}

var header = strings.Join(columns, ",")

// ReadTable reads a table from a CSV file on this machine; see ParseTable.
func ReadTable(path string) (*Table, error) {
	abs, err := raster.LocalPath(path, false)
	if err != nil {
		return nil, fmt.Errorf("evidence table %w", err)
	}
	f, err := os.Open(abs)
	if err != nil {
		return nil, fmt.Errorf("evidence table %q: %w", path, err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, maxTableBytes+1))
	if err != nil {
		return nil, fmt.Errorf("evidence table %q: %w", path, err)
	}
	return ParseTable(path, data)
}

// ParseTable reads a table from CSV (RFC 4180, UTF-8). The first line is
// field,value,shift,meaning,source; lines that begin with # are remarks. Every
// line has all five columns, of which meaning and source may be empty. name is
// the table's, and stands in the errors, which give the line.
func ParseTable(name string, data []byte) (*Table, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if !isText(data) {
		return nil, fmt.Errorf("%q is not a plain UTF-8 text table; save it as CSV in UTF-8, its first line %s", name, header)
	}
	if len(data) > maxTableBytes {
		return nil, fmt.Errorf("%q: more than the 1 MiB allowed for a table", name)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment, r.TrimLeadingSpace, r.FieldsPerRecord = '#', true, -1
	t := &Table{Name: name}
	var lines []int
	for first := true; ; first = false {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			if first {
				return nil, fmt.Errorf("%q: empty; the first line is %s", name, header)
			}
			break
		}
		if err != nil {
			return nil, lineError(name, err)
		}
		line, _ := r.FieldPos(0)
		for i, c := range cells {
			cells[i] = strings.TrimSpace(c)
		}
		if first {
			if !slices.EqualFunc(cells, columns, strings.EqualFold) {
				return nil, fmt.Errorf("%q, line %d: found %q; want the columns %s", name, line, short(strings.Join(cells, ",")), header)
			}
			continue
		}
		row, err := parseRow(cells)
		if err != nil {
			return nil, fmt.Errorf("%q, line %d: %w", name, line, err)
		}
		t.Rows, lines = append(t.Rows, row), append(lines, line)
	}
	if err := t.check(func(i int) string { return fmt.Sprintf("%q, line %d", name, lines[i]) }); err != nil {
		return nil, err
	}
	return t, nil
}

func parseRow(cells []string) (Row, error) {
	if len(cells) != len(columns) {
		return Row{}, fmt.Errorf("found %d columns; want %s, with quotes around a text that holds a comma", len(cells), header)
	}
	shift, err := strconv.ParseFloat(cells[2], 64)
	if err != nil {
		return Row{}, fmt.Errorf("shift: found %q; want log-odds from -%d to %d", short(cells[2]), MaxRowShift, MaxRowShift)
	}
	return Row{Field: strings.ToLower(cells[0]), Value: cells[1], Shift: shift, Meaning: cells[3], Source: cells[4]}, nil
}

func lineError(name string, err error) error {
	var at *csv.ParseError
	if errors.As(err, &at) {
		return fmt.Errorf("%q, line %d, column %d: %w; put a text with quotes in it between quotes and double them", name, at.Line, at.Column, at.Err)
	}
	return fmt.Errorf("%q: %w", name, err)
}

// isText tells a text from other files, among them texts in UTF-16: those have
// bytes of 0. A table in another alphabet's bytes is found by its first line.
func isText(data []byte) bool {
	head, _, _ := bytes.Cut(data, []byte("\n"))
	return bytes.IndexByte(data, 0) < 0 && utf8.Valid(head)
}
