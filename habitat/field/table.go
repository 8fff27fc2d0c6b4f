package field

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// table is a file as rows of texts, whatever its format.
type table struct {
	file, unit string // unit: "line", "feature", "waypoint"
	names      []string
	rows       []tableRow
	notes      []string
	placed     bool // rows have points of their own, in WGS 84
}

type tableRow struct {
	at     int
	values []string
	point  orb.Point
}

func (t *table) where(r tableRow) string { return fmt.Sprintf("%s %d", t.unit, r.at) }

// readCSV reads a table with a header, fields apart by comma, semicolon or
// tab. Lines before the header that begin with # are remarks.
func readCSV(file string, data []byte) (*table, error) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")) || !utf8.Valid(data) {
		return nil, fmt.Errorf("%q: not UTF-8 text; save it again as \"CSV UTF-8\"", file)
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return nil, fmt.Errorf("%q: holds bytes that no text has; save it as \"CSV UTF-8\"", file)
	}
	data = bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))
	data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	skipped := 0
	for {
		line, rest, more := bytes.Cut(data, []byte("\n"))
		text := strings.TrimSpace(string(line))
		// A spreadsheet puts quotes about a remark with commas in it, and
		// commas behind one without.
		if text != "" && !strings.HasPrefix(text, "#") && !strings.HasPrefix(text, `"#`) && strings.Trim(text, ",;\t") != "" {
			break
		}
		if !more {
			return nil, fmt.Errorf("%q: no header; the first line names the columns, see: rillwood record template", file)
		}
		data, skipped = rest, skipped+1
	}
	header, _, _ := bytes.Cut(data, []byte("\n"))
	cr := csv.NewReader(bytes.NewReader(data))
	cr.Comma = delimiter(string(header))
	cr.FieldsPerRecord = -1
	t := &table{file: file, unit: "line"}
	for {
		f, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			if p := (*csv.ParseError)(nil); errors.As(err, &p) {
				return nil, fmt.Errorf("%q line %d: %v; quotes inside a quoted field are doubled", file, p.StartLine+skipped, p.Err)
			}
			return nil, fmt.Errorf("%q: %w", file, err)
		}
		if t.names == nil {
			if err := t.setNames(f); err != nil {
				return nil, err
			}
			continue
		}
		if strings.TrimSpace(strings.Join(f, "")) == "" {
			continue
		}
		if len(t.rows) == maxRows {
			return nil, fmt.Errorf("%q: more than %d rows; cut it into several files", file, maxRows)
		}
		line, _ := cr.FieldPos(0)
		t.rows = append(t.rows, tableRow{at: line + skipped, values: f})
	}
	return t, nil
}

// delimiter is the mark that parts most names of a header.
func delimiter(header string) rune {
	best := ','
	for _, c := range ";\t" {
		if strings.Count(header, string(c)) > strings.Count(header, string(best)) {
			best = c
		}
	}
	return best
}

func (t *table) setNames(f []string) error {
	seen := map[string]bool{}
	for i, n := range f {
		n = Clean(n)
		if n != "" && seen[strings.ToLower(n)] {
			return fmt.Errorf("%q: two columns are named %q; give each a name of its own", t.file, clipped(n))
		}
		seen[strings.ToLower(n)] = true
		f[i] = n
	}
	t.names = f
	return nil
}

// readLayer reads a layer of points.
func readLayer(ctx context.Context, path string, o Options) (*table, error) {
	info, err := vector.Describe(path, o.Layer, o.CRS)
	if err != nil {
		return nil, err
	}
	if info.Count > maxRows {
		return nil, fmt.Errorf("%q: %d features, more than the %d that are read", path, info.Count, maxRows)
	}
	t := &table{file: path, unit: "feature", placed: true}
	names := make([]string, len(info.Fields))
	for i, f := range info.Fields {
		names[i] = f.Name
	}
	layer, err := vector.Read(ctx, vector.Query{Path: path, Layer: o.Layer, CRS: o.CRS, Fields: names, Kind: vector.Points}, raster.WGS84())
	if err != nil {
		return nil, err
	}
	if err := t.setNames(names); err != nil {
		return nil, err
	}
	t.notes = layer.Warnings
	for i, f := range layer.Features {
		var p orb.Point
		switch g := f.Geometry.(type) {
		case orb.Point:
			p = g
		case orb.MultiPoint:
			if len(g) != 1 {
				return nil, fmt.Errorf("%q feature %d: %d points in one feature; a stop is one point", path, i+1, len(g))
			}
			p = g[0]
		default:
			return nil, fmt.Errorf("%q feature %d: a %T, want a point", path, i+1, f.Geometry)
		}
		row := tableRow{at: i + 1, point: p, values: make([]string, len(f.Values))}
		for k, v := range f.Values {
			row.values[k] = v.String()
		}
		t.rows = append(t.rows, row)
	}
	return t, nil
}
