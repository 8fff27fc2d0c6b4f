package field

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Names in a store's folder.
const (
	RecordsFile = "records.csv"
	backupFile  = "records.csv.bak" // the store before the last change
	lockFile    = "records.lock"    // empty; held while somebody writes
)

// maxStore is the size of a store that is read, in bytes.
const maxStore = 1 << 30

// Store is a folder of records. It only grows: lines are never changed, sorted
// or taken away. A line with the id of an earlier one takes its place when read.
type Store struct {
	dir string
}

// Open names a store's folder. It need not be there yet: the first Append
// makes it. What is there must be a folder with a store in it, or without one.
func Open(dir string) (*Store, error) {
	info, err := os.Stat(dir)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return nil, fmt.Errorf("record store: %w", err)
	case !info.IsDir():
		return nil, fmt.Errorf("record store %q: this is a file; name the folder that holds %s", dir, RecordsFile)
	}
	return &Store{dir}, nil
}

// Path is the file that holds the records.
func (s *Store) Path() string { return filepath.Join(s.dir, RecordsFile) }

// Load reads the store. A store without a file is an error.
func (s *Store) Load() ([]Record, []string, error) { return Load(s.Path()) }

// Load reads a store's records.csv (or the one in the folder path), in the
// order in which they came; of lines with one id the last is taken, at the place of
// the first. Lines that are damaged, such as one that was cut off while it was
// written, are left out and each told of in warnings, with file and line.
func Load(path string) (records []Record, warnings []string, err error) {
	if info, err := os.Stat(path); err == nil && info.IsDir() {
		path = filepath.Join(path, RecordsFile)
	}
	data, err := readStore(path)
	if err != nil {
		return nil, nil, err
	}
	if data == nil {
		return nil, nil, fmt.Errorf("record store %q: there is none; rillwood record add makes one", path)
	}
	return parse(path, data)
}

// readStore gives a store's bytes, nil when there is no file.
func readStore(path string) ([]byte, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, fmt.Errorf("record store: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("not a plain file")
	} else if err == nil && info.Size() > maxStore {
		err = fmt.Errorf("%d bytes, more than the %d that are read", info.Size(), maxStore)
	}
	var data []byte
	if err == nil {
		data, err = io.ReadAll(io.LimitReader(f, maxStore))
	}
	if err != nil {
		return nil, fmt.Errorf("record store %q: %w", path, err)
	}
	if data == nil {
		data = []byte{}
	}
	return data, nil
}

// parse reads a store line by line: no field holds a line break, so a damaged
// line cannot take others with it.
func parse(path string, data []byte) (records []Record, warnings []string, err error) {
	if len(data) == 0 {
		return nil, []string{fmt.Sprintf("%q: empty, not even a header", path)}, nil
	}
	at := map[string]int{}
	lines := newLineReader()
	for n := 1; len(data) > 0; n++ {
		line, rest, ended := bytes.Cut(data, []byte("\n"))
		data = rest
		text := string(bytes.TrimSuffix(line, []byte("\r")))
		if n == 1 {
			if err := checkHeader(text); err != nil {
				return nil, nil, fmt.Errorf("record store %q: %w", path, err)
			}
			continue
		}
		if text == "" {
			continue // closes a line that was cut off
		}
		r, err := lines.decode(text)
		if err != nil {
			how := ""
			if !ended {
				how = "the last line was not finished; "
			}
			warnings = append(warnings, fmt.Sprintf("%q line %d: left out, %s%v; the trip it came from can be added again", path, n, how, err))
			continue
		}
		if k, known := at[r.ID]; known {
			records[k] = r
			continue
		}
		at[r.ID] = len(records)
		records = append(records, r)
	}
	return records, warnings, nil
}
