package results

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// mostBytes is the largest record, shortlist or file of ways or streams that
// is read.
const mostBytes = 1 << 29

// ReadFile reads a plain file that a run wrote, of at most 512 MB.
func ReadFile(path string) ([]byte, error) { return readAtMost(path, mostBytes) }

func readAtMost(path string, most int64) ([]byte, error) {
	if err := plainFile(path, most); err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("%q cannot be read: %w", path, bare(err))
	}
	defer f.Close()
	// It may have grown since it was looked at.
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err != nil {
		return nil, fmt.Errorf("%q cannot be read: %w", path, bare(err))
	}
	if int64(len(data)) > most {
		return nil, tooLarge(path, int64(len(data)))
	}
	return data, nil
}

// plainFile demands a plain file of a size that a run writes.
func plainFile(path string, most int64) error {
	s, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%q is missing; the folder holds no finished run", path)
	case err != nil:
		return fmt.Errorf("%q cannot be read: %w", path, bare(err))
	case !s.Mode().IsRegular():
		return fmt.Errorf("%q is no plain file", path)
	case s.Size() > most:
		return tooLarge(path, s.Size())
	}
	return nil
}

func tooLarge(path string, size int64) error {
	return fmt.Errorf("%q has %d MB, more than a run writes", path, size>>20)
}

// bare takes the path, which is told anyway, out of an error of the system.
func bare(err error) error {
	if at := (*fs.PathError)(nil); errors.As(err, &at) {
		return at.Err
	}
	return err
}

// file is the path of a file of the run (a slashed name). A link that leads
// out of the folder is refused, so that a folder from a stranger opens nothing
// else on this machine.
func (r *Run) file(name string) (string, error) {
	if !filepath.IsLocal(filepath.FromSlash(name)) {
		return "", fmt.Errorf("%q is no file of the run's folder", name)
	}
	path := filepath.Join(r.Folder, filepath.FromSlash(name))
	end, err := filepath.EvalSymlinks(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return path, nil // said by whoever opens it
	case err != nil:
		return "", fmt.Errorf("%q cannot be read: %w", path, bare(err))
	}
	if below, err := filepath.Rel(r.Folder, end); err != nil || !filepath.IsLocal(below) {
		return "", fmt.Errorf("%q is a link that leads out of the folder; put the file itself there", path)
	}
	return end, nil
}

// there tells whether the run wrote a file and it still lies in the folder.
// What the record does not name is of another run.
func (r *Run) there(name string) bool {
	if len(r.outputs) > 0 && !r.wrote[name] {
		return false
	}
	_, err := os.Lstat(filepath.Join(r.Folder, filepath.FromSlash(name)))
	return err == nil
}

// note keeps what is missing, without where the folder lies: notes stand on
// pages that are handed on.
func (r *Run) note(format string, args ...any) {
	text := fmt.Sprintf(format, args...)
	quoted := strconv.Quote(r.Folder + string(filepath.Separator))
	text = strings.ReplaceAll(text, quoted[1:len(quoted)-1], "")
	if text = strings.Join(strings.Fields(text), " "); !slices.Contains(r.Notes, text) {
		r.Notes = append(r.Notes, text)
	}
}

// Damaged puts a fault of JSON into words that name line and field.
func Damaged(data []byte, err error) error {
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) {
		at := min(int(syntax.Offset), len(data))
		return fmt.Errorf("line %d: no JSON (%v); the file is damaged, make the map again", 1+bytes.Count(data[:at], []byte("\n")), syntax)
	}
	if kind := (*json.UnmarshalTypeError)(nil); errors.As(err, &kind) {
		field := kind.Field
		if field == "" {
			field = "the whole"
		}
		return fmt.Errorf("%q is a JSON %s where another kind is wanted; the file is damaged, make the map again", Clip(field, 60), Clip(kind.Value, 40))
	}
	return fmt.Errorf("no JSON (%v); the file is damaged, make the map again", err)
}

// Clip shortens a text to n characters, 1 or more.
func Clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return string(r[:n-1]) + "…"
}
