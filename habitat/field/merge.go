package field

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
)

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
	if err := replace(s.Path(), old, lines); err != nil {
		return fmt.Errorf("record store: %w", err)
	}
	return syncFolder(s.dir)
}
