package habitat

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
)

// nodataGroup marks, in a legend CSV, a code that stands for no data.
const nodataGroup = "nodata"

// maxClasses leaves slot 255 for NoClass.
const maxClasses = 255

var legendColumns = []string{"code", "also", "name", "group", "cover"}

// ParseLegend reads a legend from CSV with the columns code, name and group,
// and if wanted cover (0–1; empty: the group's own) and also (a second code
// for the same class). Lines starting with # are remarks. The group
// "nodata" marks codes without data. file is used in messages only.
func ParseLegend(file string, data []byte) (*Legend, error) {
	if len(data) > maxYAMLBytes {
		return nil, fmt.Errorf("%s: %d bytes, more than the 1 MiB allowed for a legend", file, len(data))
	}
	r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	r.Comment, r.TrimLeadingSpace, r.FieldsPerRecord = '#', true, -1
	head, err := r.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty; the first line names the columns code,name,group,cover", file)
	} else if err != nil {
		return nil, csvError(file, err)
	}
	at := map[string]int{}
	for i, name := range head {
		name = strings.ToLower(strings.TrimSpace(name))
		if err := oneOf("column", name, legendColumns...); err != nil {
			return nil, fmt.Errorf("%s:1: %w", file, err)
		}
		if _, twice := at[name]; twice {
			return nil, fmt.Errorf("%s:1: column %s is there twice", file, name)
		}
		at[name] = i
	}
	for _, need := range []string{"code", "name", "group"} {
		if _, ok := at[need]; !ok {
			return nil, fmt.Errorf("%s:1: column %s is missing; the first line names the columns code,name,group,cover", file, need)
		}
	}
	l := &Legend{Name: filepath.Base(file), slots: map[int]uint8{}}
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, csvError(file, err)
		}
		line, _ := r.FieldPos(0)
		cell := func(name string) string {
			if i, ok := at[name]; ok && i < len(row) {
				return strings.TrimSpace(row[i])
			}
			return ""
		}
		if len(row) > len(head) {
			return nil, fmt.Errorf("%s:%d: %d fields under %d columns; put quotes around a name that holds a comma", file, line, len(row), len(head))
		}
		if err := l.add(cell); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, line, err)
		}
	}
	return l, l.assign(file)
}

// add takes in one row; slots come later.
func (l *Legend) add(cell func(string) string) error {
	code, err := classCode("code", cell("code"))
	if err != nil {
		return err
	}
	if _, twice := l.slots[code]; twice {
		return wrong("code", "%d is there already", code)
	}
	l.slots[code] = NoClass
	if cell("group") == nodataGroup {
		return nil
	}
	c := Class{Code: code, Name: cell("name"), Group: CoverGroup(cell("group"))}
	if c.Name == "" {
		return wrong("name", "empty for code %d", code)
	}
	if err := oneOf("group", cell("group"), append(groupNames(), nodataGroup)...); err != nil {
		return err
	}
	c.Cover = c.Group.DefaultCover()
	if text := cell("cover"); text != "" {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil || !(v >= 0 && v <= 1) {
			return wrong("cover", "expected a number from 0 to 1, found %q", oneLine(text))
		}
		c.Cover = v
	}
	if text := cell("also"); text != "" {
		if c.Also, err = classCode("also", text); err != nil {
			return err
		}
		if _, twice := l.slots[c.Also]; twice {
			return wrong("also", "%d is there already", c.Also)
		}
		l.slots[c.Also] = NoClass
	}
	l.Classes = append(l.Classes, c)
	return nil
}

// assign gives every class its slot.
func (l *Legend) assign(file string) error {
	if len(l.Classes) == 0 {
		return fmt.Errorf("%s: no classes", file)
	}
	if len(l.Classes) > maxClasses {
		return fmt.Errorf("%s: %d classes, more than the %d allowed", file, len(l.Classes), maxClasses)
	}
	sort.Slice(l.Classes, func(i, j int) bool { return l.Classes[i].Code < l.Classes[j].Code })
	direct := l.Classes[0].Code >= 0 && l.Classes[len(l.Classes)-1].Code < int(NoClass)
	for i := range l.Classes {
		c := &l.Classes[i]
		if c.Slot = uint8(i); direct {
			c.Slot = uint8(c.Code)
		}
		l.slots[c.Code], l.bySlot[c.Slot] = c.Slot, i+1
		if c.Also != 0 {
			l.slots[c.Also] = c.Slot
		}
	}
	return nil
}

func classCode(column, text string) (int, error) {
	code, err := strconv.ParseInt(text, 10, 32)
	if err != nil {
		return 0, wrong(column, "expected a whole number, found %q", oneLine(text))
	}
	return int(code), nil
}

func csvError(file string, err error) error {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return fmt.Errorf("%s:%d:%d: %s", file, pe.Line, pe.Column, oneLine(pe.Err.Error()))
	}
	return fmt.Errorf("%s: %w", file, err)
}
