package field

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Options say how files of others are read.
type Options struct {
	Vocabulary *Vocabulary       // needed
	Map        map[string]string // our column name → theirs
	CRS        string            // of x and y, "EPSG:n" or WKT; "" for lon and lat, or the file's own
	Layer      string            // of a file with several
	DateOrder  string            // "iso" or "", "mdy", "dmy": how 3/4/2026 is meant
	Day        time.Time         // of rows without a date; zero for none
	Observer   string            // of rows without one
	Run        *Run              // resolves candidates and bounds the map; nil for none
	Today      time.Time         // rows later than the day after are in the future
}

// Import is what a file holds.
type Import struct {
	Records  []Record  // the rows that can be taken, identified
	Problems []Problem // one for each row that cannot, or more
	Refused  int       // how many rows that are
	Examples int       // rows of the template's examples, which are not taken
	Notes    []string  // what was left aside or assumed
}

// Problem is why a row cannot be taken.
type Problem struct {
	File  string
	Where string // "line 7", "feature 3", "waypoint 2"; "" for the whole file
	Field string
	Text  string // what was found and what to do
}

func (p Problem) Error() string {
	s := fmt.Sprintf("%q", p.File)
	if p.Where != "" {
		s += " " + p.Where
	}
	s += ": "
	if p.Field != "" {
		s += p.Field + ": "
	}
	return s + p.Text
}

// Limits of a file that is read.
const (
	maxFile = 64 << 20 // bytes
	maxRows = 500_000
)

// Read reads the rows of a table (.csv, .tsv, .txt), of waypoints (.gpx) or of a
// layer of points (what package vector reads), by the ending of the file's name.
// Rows that cannot be taken are Problems; a file that cannot be read, or of
// which nothing makes sense, is an error.
func Read(ctx context.Context, path string, o Options) (*Import, error) {
	info, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%q: no such file", path)
	} else if err != nil {
		return nil, err
	}
	var t *table
	ext := strings.ToLower(filepath.Ext(path))
	switch ext {
	case ".csv", ".tsv", ".txt", ".gpx":
		if !info.Mode().IsRegular() {
			return nil, fmt.Errorf("%q: not a plain file", path)
		}
		if info.Size() > maxFile {
			return nil, fmt.Errorf("%q: %d bytes, more than the %d that are read; cut it into several files", path, info.Size(), maxFile)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return nil, err
		}
		if ext == ".gpx" {
			t, err = readGPX(path, data)
		} else {
			t, err = readCSV(path, data)
		}
		if err != nil {
			return nil, err
		}
	default:
		if t, err = readLayer(ctx, path, o); err != nil {
			return nil, err
		}
	}
	return assemble(t, o)
}

// ParseCSV is Read for a table in memory; file is used in messages only.
func ParseCSV(file string, data []byte, o Options) (*Import, error) {
	t, err := readCSV(file, data)
	if err != nil {
		return nil, err
	}
	return assemble(t, o)
}

// ParseGPX is Read for waypoints in memory; file is used in messages only.
func ParseGPX(file string, data []byte, o Options) (*Import, error) {
	t, err := readGPX(file, data)
	if err != nil {
		return nil, err
	}
	return assemble(t, o)
}
