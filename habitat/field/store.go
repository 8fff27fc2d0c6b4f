package field

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"rillwood/vector"
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
		r, err := decodeLine(text)
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

// Clash is a row that the store holds with other content.
type Clash struct{ Held, New Record }

// ClashError tells of rows that the store holds with other content.
type ClashError struct{ Clashes []Clash }

func (e *ClashError) Error() string {
	c := e.Clashes[0]
	more := ""
	if n := len(e.Clashes) - 1; n > 0 {
		more = fmt.Sprintf(" (and %d more)", n)
	}
	return fmt.Sprintf("the store holds another row of %s, stop %q, host %q: %s; this one says %s%s; nothing was added: take it with --correct if it is right, else give the stop or the observer a name of its own",
		c.New.Day(), c.New.Stop, c.New.Host, firstDifference(c.Held, c.New), firstDifference(c.New, c.Held), more)
}

// firstDifference is the first field in which r differs from o, with r's value.
func firstDifference(r, o Record) string {
	a, b := r.content(), o.content()
	for i := range a {
		if a[i] != b[i] {
			return fmt.Sprintf("%s %q", storeHeader[i+1], clipped(a[i]))
		}
	}
	return "the same"
}

// Append adds the records that the store does not hold yet and counts those it
// does. Records without an id are given one as rows of one file (Identify).
// Either all are taken or, after an error, the store is as it was; rows it holds
// with other content are a *ClashError.
func (s *Store) Append(records []Record) (added, already int, err error) {
	added, _, already, err = s.merge(records, false)
	return added, already, err
}

// Correct is Append, but a row the store holds with other content is added
// as a new line that takes the place of the old one when read. The old line stays.
func (s *Store) Correct(records []Record) (added, corrected, already int, err error) {
	return s.merge(records, true)
}

func (s *Store) merge(records []Record, correct bool) (added, corrected, already int, err error) {
	if err := settleAll(records); err != nil {
		return 0, 0, 0, fmt.Errorf("record store %q: %w", s.Path(), err)
	}
	if err := os.MkdirAll(s.dir, 0o755); err != nil {
		return 0, 0, 0, fmt.Errorf("record store: %w", err)
	}
	unlock, err := lock(filepath.Join(s.dir, lockFile))
	if err != nil {
		return 0, 0, 0, fmt.Errorf("record store %q: %w", s.dir, err)
	}
	defer unlock()
	old, err := readStore(s.Path())
	if err != nil {
		return 0, 0, 0, err
	}
	held := map[string]Record{}
	if len(old) > 0 {
		list, _, err := parse(s.Path(), old)
		if err != nil {
			return 0, 0, 0, err
		}
		for _, r := range list {
			held[r.ID] = r
		}
	}
	var lines bytes.Buffer
	var clashes []Clash
	for _, r := range records {
		was, known := held[r.ID]
		switch {
		case !known:
			added++
		case was.same(r):
			already++
			continue
		case !correct:
			clashes = append(clashes, Clash{was, r})
			continue
		default:
			corrected++
		}
		held[r.ID] = r
		lines.WriteString(encodeLine(r))
	}
	if len(clashes) > 0 {
		return 0, 0, 0, fmt.Errorf("record store %q: %w", s.Path(), &ClashError{clashes})
	}
	if lines.Len() == 0 {
		return 0, 0, already, nil
	}
	if err := s.write(old, lines.Bytes()); err != nil {
		return 0, 0, 0, err
	}
	return added, corrected, already, nil
}

// settleAll gives ids where there are none. Lists that are named in part
// would get ids that other parts have.
func settleAll(records []Record) error {
	without := 0
	for i := range records {
		if records[i].ID == "" {
			without++
		}
	}
	switch without {
	case 0:
		for i := range records {
			records[i].settle()
		}
	case len(records):
		Identify(records)
	default:
		return fmt.Errorf("%d of %d records have no id: name all of them or none", without, len(records))
	}
	return nil
}

// write makes the new store beside the old one, flushes it and renames it into
// place, so that whoever is killed leaves either the old or the new one whole.
// The old file becomes the backup; its bytes are kept as they are, the end of a
// cut line excepted, which is closed.
func (s *Store) write(old, lines []byte) error {
	if len(old) == 0 {
		old = []byte(csvLine(storeHeader))
	} else {
		if err := s.keepOld(); err != nil {
			return fmt.Errorf("record store %q: keep the version before: %w", s.Path(), err)
		}
		if old[len(old)-1] != '\n' {
			lines = append([]byte("\r\n"), lines...)
		}
	}
	err := vector.WriteBeside(s.Path(), func(w io.Writer) error {
		if _, err := w.Write(old); err != nil {
			return err
		}
		_, err := w.Write(lines)
		return err
	})
	if err != nil {
		return fmt.Errorf("record store: %w", err)
	}
	return syncFolder(s.dir)
}
