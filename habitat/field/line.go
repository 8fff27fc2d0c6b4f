package field

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/crc32"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// The store is RFC 4180: a header, then one record a line. The name of the
// first column is the format, the last column a checksum of the others.
var storeHeader = []string{
	"rillwood_record_1", "date", "lon", "lat", "accuracy_m", "run", "candidate", "host", "condition",
	"inspected", "found", "minutes", "observer", "confirmed", "stop", "note", "flags", "check",
}

const headerStart = "rillwood_record_"

// texts tells which columns hold free text, which may look like a formula.
var storeTexts = []int{5, 7, 8, 12, 13, 14, 15, 16}

// encodeLine gives a settled record as one line with its line end.
func encodeLine(r Record) string {
	f := append([]string{r.ID}, r.content()...)
	f = append(f, strings.Join(r.Flags, "; "))
	for _, i := range storeTexts {
		f[i] = guard(f[i])
	}
	return csvLine(append(f, checksum(f)))
}

func csvLine(fields []string) string {
	var b strings.Builder
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	w.Write(fields) // into memory
	w.Flush()
	return b.String()
}

func checksum(fields []string) string {
	return fmt.Sprintf("%08x", crc32.ChecksumIEEE([]byte(strings.Join(fields, "\x1f"))))
}

// lineReader reads lines of the store. Its buffer serves all of them, where
// the csv package would make one for each.
type lineReader struct{ buffer *bufio.Reader }

func newLineReader() lineReader { return lineReader{bufio.NewReader(nil)} }

// decode reads one line, without its line end.
func (l lineReader) decode(line string) (Record, error) {
	l.buffer.Reset(strings.NewReader(line))
	f, err := csv.NewReader(l.buffer).Read()
	if err != nil {
		return Record{}, errors.New("it is cut off or its quotes do not close")
	}
	if len(f) != len(storeHeader) {
		return Record{}, fmt.Errorf("it has %d fields where %d are kept", len(f), len(storeHeader))
	}
	last := len(f) - 1
	if f[last] != checksum(f[:last]) {
		return Record{}, errors.New("it does not match its checksum: damaged, or changed by hand")
	}
	for _, i := range storeTexts {
		f[i] = unguard(f[i])
	}
	return fromFields(f)
}

func fromFields(f []string) (Record, error) {
	r := Record{ID: f[0], Run: f[5], Host: f[7], Condition: f[8], Observer: f[12], Confirmed: f[13], Stop: f[14], Note: f[15]}
	var err error
	if r.Date, err = time.Parse(time.DateOnly, f[1]); err != nil {
		return r, fmt.Errorf("date: %q is not a day", clipped(f[1]))
	}
	for _, n := range []struct {
		at   int
		into *float64
	}{{2, &r.Lon}, {3, &r.Lat}, {4, &r.AccuracyM}, {11, &r.Minutes}} {
		v, err := strconv.ParseFloat(f[n.at], 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return r, fmt.Errorf("%s: %q is not a number", storeHeader[n.at], clipped(f[n.at]))
		}
		*n.into = v
	}
	for _, n := range []struct {
		at   int
		into *int
	}{{6, &r.Candidate}, {9, &r.Inspected}, {10, &r.Found}} {
		if *n.into, err = strconv.Atoi(f[n.at]); err != nil {
			return r, fmt.Errorf("%s: %q is not a whole number", storeHeader[n.at], clipped(f[n.at]))
		}
	}
	if f[16] != "" {
		r.Flags = strings.Split(f[16], "; ")
	}
	return r, nil
}

// checkHeader judges the first line of a store.
func checkHeader(line string) error {
	f, err := csv.NewReader(strings.NewReader(line)).Read()
	switch {
	case err == nil && slices.Equal(f, storeHeader):
		return nil
	case err == nil && len(f) > 0 && strings.HasPrefix(f[0], headerStart) && f[0] != storeHeader[0]:
		return fmt.Errorf("its format is %q, this program reads %q; use the newer program", clipped(f[0]), storeHeader[0])
	}
	return fmt.Errorf("the first line is not the header of a record store (%s,date,…); a table of your own is read with: rillwood record add", storeHeader[0])
}
