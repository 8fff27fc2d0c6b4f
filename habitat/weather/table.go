package weather

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// readTable reads a table whose first line names its columns. Columns may
// stand in any order and unknown ones are passed over.
func readTable(l *lines, told Units) (*Series, error) {
	first, n, _ := l.next()
	head, err := cells(first)
	if err != nil {
		return nil, fmt.Errorf("%s:%d: %w", l.file, n, err)
	}
	c, err := understand(l.file, n, head, told)
	if err != nil {
		return nil, err
	}
	g := newGather(l.file)
	for {
		text, n, ok := l.next()
		if !ok {
			break
		}
		row, err := cells(text)
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", l.file, n, err)
		}
		if len(row) != c.width {
			return nil, fmt.Errorf("%s:%d: %d fields under %d columns", l.file, n, len(row), c.width)
		}
		if err := g.tableRow(n, c, row); err != nil {
			return nil, err
		}
	}
	if l.err != nil {
		return nil, l.err
	}
	s, err := g.series()
	if err != nil {
		return nil, err
	}
	s.Format, s.Units, s.Account.Ignored = "CSV table", c.units, c.ignored
	return s, g.strangeUnits(c)
}

// cells parts one line of CSV (RFC 4180); a field may not hold a line break.
func cells(line string) ([]string, error) {
	if !strings.Contains(line, `"`) {
		return strings.Split(line, ","), nil
	}
	r := csv.NewReader(strings.NewReader(line))
	r.FieldsPerRecord = -1
	f, err := r.Read()
	if err != nil {
		var p *csv.ParseError
		if errors.As(err, &p) {
			err = p.Err
		}
		if errors.Is(err, io.EOF) {
			return []string{""}, nil
		}
		return nil, err
	}
	return f, nil
}

func (g *gather) tableRow(n int, c *columns, row []string) error {
	d, err := c.dayOf(row)
	if err != nil {
		return fmt.Errorf("%s:%d: %w", g.file, n, err)
	}
	if c.station >= 0 && strings.TrimSpace(row[c.station]) != "" {
		if err := g.sameStation(n, clipped(row[c.station])); err != nil {
			return err
		}
	}
	if _, twice := g.rows[d]; twice {
		return fmt.Errorf("%s:%d: %s is there already; a day may have one row", g.file, n, d)
	}
	if _, err := g.day(n, d); err != nil {
		return err
	}
	for e := range elements {
		if c.value[e] < 0 {
			continue
		}
		v, trace, err := number(row[c.value[e]], e)
		if err != nil {
			return fmt.Errorf("%s:%d: %s: %w", g.file, n, e, err)
		}
		if at := c.attributes[e]; at >= 0 {
			f := strings.Split(row[at], ",")
			if len(f) > 1 && strings.TrimSpace(f[1]) != "" && v == v {
				g.account.Elements[e].Failed++
				v = math.NaN()
			} else if strings.TrimSpace(f[0]) == "T" && v == v {
				trace = true
			}
		}
		if trace {
			g.account.Elements[e].Trace++
		}
		if err := g.put(n, d, e, c.unit[e].convert(v)); err != nil {
			return err
		}
	}
	return nil
}

// dayOf is the day of a row. Where a table has both a date and year, month and
// day, the date is read and the others must agree.
func (c *columns) dayOf(row []string) (Day, error) {
	var parts [3]int
	if c.year >= 0 && c.month >= 0 && c.day >= 0 {
		for i, at := range []int{c.year, c.month, c.day} {
			v, err := strconv.Atoi(strings.TrimSpace(row[at]))
			if err != nil {
				return 0, fmt.Errorf("expected year, month and day as whole numbers, found %q", clipped(row[at]))
			}
			parts[i] = v
		}
		d, ok := DayOf(parts[0], time.Month(parts[1]), parts[2])
		if !ok {
			return 0, fmt.Errorf("there is no day %d-%02d-%02d", parts[0], parts[1], parts[2])
		}
		if c.date < 0 {
			return d, nil
		}
		named, err := tableDay(row[c.date])
		if err == nil && named != d {
			err = fmt.Errorf("the date %s is not the day of the columns year, month and day, %s", named, d)
		}
		return named, err
	}
	return tableDay(row[c.date])
}

// tableDay reads 2025-10-31 or 20251031. Days written as 10/31/2025 are
// refused: 3/4/2025 would be two days.
func tableDay(text string) (Day, error) {
	text = strings.TrimSpace(text)
	if len(text) == 8 && digits(text) {
		text = text[:4] + "-" + text[4:6] + "-" + text[6:]
	}
	return ParseDay(text)
}

// number reads a value; NaN for one that is missing. T is a trace of rain or
// snow, kept as 0.
func number(text string, e Element) (v float64, trace bool, err error) {
	text = strings.TrimSpace(text)
	switch strings.ToUpper(text) {
	case "", "NA", "N/A", "NAN", "NULL", "NONE", "M", "-", "-9999", "-9999.0":
		return math.NaN(), false, nil
	case "T":
		if e == Precip || e == Snow || e == Depth {
			return 0, true, nil
		}
	}
	v, err = strconv.ParseFloat(text, 64)
	if err != nil || v-v != 0 {
		return 0, false, fmt.Errorf("expected a number, or nothing or NA where there is none, found %q", clipped(text))
	}
	return v, false, nil
}
