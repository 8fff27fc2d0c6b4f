package evidence

import (
	"context"
	"fmt"

	"rillwood/raster"
	"rillwood/vector"
)

// What to do about values that the table does not know.
const (
	UnknownNeutral = "neutral" // count them in a warning and let them say nothing
	UnknownStop    = "stop"    // refuse the layer
)

// Source is one layer of evidence: polygons (Query.Path set) or a raster of
// whole-number codes (Raster set), and the table that gives its values weight.
type Source struct {
	Name   string         // for messages
	Query  vector.Query   // Fields and Bounds are filled in by Read
	Raster *raster.Source // nil for polygons
	// Fields names the column of a table's field, where it is not one of the
	// usual names. For a raster, which has no columns, its one key says which
	// field of the table the codes belong to.
	Fields  map[string]string
	Table   *Table
	Unknown string // UnknownNeutral ("" is the same) or UnknownStop
}

// Item is what one field of one layer says, on the frame.
type Item struct {
	Layer, Field string
	Column       string               // the layer's column, "" where the shape itself is the value
	Plane        *raster.Plane[uint8] // 0 = says nothing, else the place in Classes plus one
	Classes      []Class              // the table's rows of the field, in its order
}

// Class is one row of the table and the number of cells it holds on the frame.
type Class struct {
	Value, Meaning string
	Shift          float64 // log-odds
	Cells          int64
}

// Close frees the item's plane.
func (it Item) Close() { it.Plane.Close() }

// Read lays a layer on the frame: one Item for each of the table's fields that
// the layer has a column for, in the table's order. A cell takes the value of
// the polygon that holds its centre; where polygons overlap the later one in
// the file wins, unless it says nothing (no value, an unknown one, or a row of
// shift 0). Raster codes land as the nearest or commonest class.
//
// Layers outside the map, without features or without known values are neutral
// and warned about. Planes go to scratch's files when it is not nil; the caller
// closes the items.
func Read(ctx context.Context, src Source, f raster.Frame, scratch *raster.Scratch, workers int) (items []Item, warnings []string, err error) {
	if err := src.check(); err != nil {
		return nil, nil, fmt.Errorf("evidence %q: %w", src.Name, err)
	}
	r := reader{ctx: ctx, src: src, frame: f, scratch: scratch.Cold(), workers: max(1, workers)}
	defer func() {
		if err != nil {
			for _, it := range items {
				it.Close()
			}
			items, warnings, err = nil, nil, fmt.Errorf("evidence %q: %w", src.Name, err)
		}
	}()
	if src.Raster != nil {
		err = r.raster()
	} else {
		err = r.polygons()
	}
	items = r.items
	if err != nil {
		return items, nil, err
	}
	if err = r.count(); err != nil {
		return items, nil, err
	}
	if err = r.settle(); err != nil {
		return items, nil, err
	}
	return items, r.warnings, nil
}

// check looks at what can be told before any file is opened.
func (s Source) check() error {
	if s.Table == nil {
		return fmt.Errorf("no table; name one of %v or a CSV file", BuiltinNames())
	}
	if err := s.Table.check(func(i int) string { return fmt.Sprintf("table %q, row %d", s.Table.Name, i+1) }); err != nil {
		return err
	}
	switch s.Unknown {
	case "", UnknownNeutral, UnknownStop:
	default:
		return fmt.Errorf("unknown: found %q; want %s or %s", short(s.Unknown), UnknownNeutral, UnknownStop)
	}
	if (s.Raster == nil) == (s.Query.Path == "") {
		return fmt.Errorf("want either polygons or a raster, one of them")
	}
	for _, field := range sortedKeys(s.Fields) {
		if err := s.Table.has(field); err != nil {
			return err
		}
	}
	return nil
}

// reader is a Read under way.
type reader struct {
	ctx      context.Context
	src      Source
	frame    raster.Frame
	scratch  *raster.Scratch
	workers  int
	items    []Item
	unknown  unknowns
	warnings []string
}

// add starts an item for a field, its plane all 0.
func (r *reader) add(field, column string) (*Item, []Row, error) {
	plane, err := raster.NewPlane[uint8](r.frame.W, r.frame.H, r.scratch)
	if err != nil {
		return nil, nil, err
	}
	rows := r.src.Table.rowsOf(field)
	it := Item{Layer: r.src.Name, Field: field, Column: column, Plane: plane}
	for _, row := range rows {
		meaning := row.Meaning
		if meaning == "" {
			meaning = row.Value
		}
		it.Classes = append(it.Classes, Class{Value: row.Value, Meaning: meaning, Shift: row.Shift})
	}
	r.items = append(r.items, it)
	return &r.items[len(r.items)-1], rows, nil
}

func (r *reader) warn(format string, a ...any) {
	r.warnings = append(r.warnings, fmt.Sprintf("evidence %q: ", r.src.Name)+fmt.Sprintf(format, a...))
}

// settle says what became of the whole layer.
func (r *reader) settle() error {
	if text := r.unknown.String(); text != "" {
		if r.src.Unknown == UnknownStop {
			return fmt.Errorf("%s not in the table %q; add rows for them, or set unknown: %s", text, r.src.Table.Name, UnknownNeutral)
		}
		r.warn("%s not in the table %q; taken as neutral", text, r.src.Table.Name)
	}
	for _, it := range r.items {
		for _, c := range it.Classes {
			if c.Cells > 0 {
				return nil
			}
		}
	}
	r.warn("it says nothing anywhere on the map; taken as neutral")
	return nil
}

// bandRows is how many rows are read at a time.
const bandRows = 64

// count fills in how many cells each class holds. Sums of whole numbers do not
// depend on who adds them.
func (r *reader) count() error {
	f := r.frame
	for i := range r.items {
		it := &r.items[i]
		counts := make([][256]int64, r.workers)
		buf := make([][]uint8, r.workers)
		err := raster.Parallel(r.ctx, r.workers, (f.H+bandRows-1)/bandRows, func(w, band int) error {
			if buf[w] == nil {
				buf[w] = make([]uint8, f.W)
			}
			for y := band * bandRows; y < min(f.H, (band+1)*bandRows); y++ {
				row, err := it.Plane.Row(0, y, f.W, buf[w])
				if err != nil {
					return err
				}
				for _, c := range row {
					counts[w][c]++
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		for k := range it.Classes {
			for _, c := range counts {
				it.Classes[k].Cells += c[k+1]
			}
		}
	}
	return nil
}
