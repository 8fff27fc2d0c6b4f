package handover

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// moves is the journal: what is left to do once a run is decided.
type moves struct {
	Stage string   `json:"stage"` // name of the stage in the folder
	Files []string `json:"files"`
	Gone  []string `json:"gone"`
}

// check tells what is wrong with a journal, which may come from anywhere: a
// folder may have been sent by somebody.
func (m moves) check() error {
	if !strings.HasPrefix(m.Stage, stagePrefix) || m.Stage != filepath.Base(m.Stage) {
		return fmt.Errorf("its stage %q is none", m.Stage)
	}
	for _, list := range [][]string{m.Files, m.Gone} {
		for _, f := range list {
			if !Owns(f) {
				return fmt.Errorf("it names %q, which is no result of a run", f)
			}
		}
	}
	return nil
}

func (c *Claim) byJournal(files, gone []string) (err error) {
	m := moves{filepath.Base(c.stage), files, gone}
	data, err := json.Marshal(m)
	if err != nil {
		panic(err) // plain texts
	}
	decided := false
	// What cannot be moved is found before anything is decided.
	for _, f := range files {
		target := filepath.Join(c.folder, filepath.FromSlash(f))
		if st, err := os.Lstat(target); err == nil && st.IsDir() {
			return fmt.Errorf("output folder %q: %q is a folder, and a result of that name is to be put there; the earlier results are as they were", c.named, f)
		}
		if dir := filepath.Dir(target); dir != c.folder {
			if err := os.Mkdir(dir, 0o755); err == nil {
				defer func() {
					if !decided {
						os.Remove(dir)
					}
				}()
			} else if !errors.Is(err, fs.ErrExist) {
				return c.fail(err)
			}
		}
	}
	if err := syncDirs(c.folder); err != nil {
		return c.fail(err)
	}
	at("write journal")
	if err := writeSynced(filepath.Join(c.folder, journalName), data); err != nil {
		// It may have got its name before the error; without its stage it must not stay.
		os.Remove(filepath.Join(c.folder, journalName))
		return c.fail(err)
	}
	decided = true
	c.stage = "" // the journal's from here on
	if err := finishJournal(c.folder); err != nil {
		return fmt.Errorf("output folder %q: results are being put in place and cannot all be: %w; run the map again once that is mended", c.named, plain(err))
	}
	return nil
}

// mostJournal is the longest journal that is read, in bytes.
const mostJournal = 1 << 20

// finishJournal makes the moves of a journal that is there, and removes it.
// It may be cut off at any point and called again. Nothing outside the folder
// is reached, whatever the journal says and whatever links lie there.
func finishJournal(folder string) error {
	if !Pending(folder) {
		return nil
	}
	path := filepath.Join(folder, journalName)
	root, err := os.OpenRoot(folder)
	if err != nil {
		return err
	}
	defer root.Close()
	m, err := readJournal(root)
	if err != nil {
		return fmt.Errorf("%q is no journal of a run (%w); remove it and run the map again", path, plain(err))
	}
	for _, f := range m.Files {
		at("move " + f)
		f = filepath.FromSlash(f)
		if dir := filepath.Dir(f); dir != "." {
			// The user may have removed it since the crash.
			if err := root.Mkdir(dir, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
				return fmt.Errorf("%q: %w", f, plain(err))
			}
		}
		err := root.Rename(filepath.Join(m.Stage, f), f)
		if err != nil && !errors.Is(err, fs.ErrNotExist) { // moved before the crash
			return fmt.Errorf("%q: %w", f, plain(err))
		}
	}
	for _, f := range m.Gone {
		at("remove " + f)
		f = filepath.FromSlash(f)
		if err := root.Remove(f); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%q: %w", f, plain(err))
		}
		if dir := filepath.Dir(f); dir != "." {
			root.Remove(dir) // goes only when empty
		}
	}
	at("sync moves")
	if err := syncDirs(folder); err != nil {
		return err
	}
	at("remove stage")
	if err := root.RemoveAll(m.Stage); err != nil {
		return err
	}
	at("remove journal")
	return root.Remove(journalName)
}

func readJournal(root *os.Root) (m moves, err error) {
	if st, err := root.Lstat(journalName); err != nil {
		return m, err
	} else if !st.Mode().IsRegular() {
		return m, errors.New("no plain file")
	}
	f, err := root.Open(journalName)
	if err != nil {
		return m, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostJournal))
	if err != nil {
		return m, err
	}
	if err := json.Unmarshal(data, &m); err != nil {
		return m, errors.New("no such text")
	}
	return m, m.check()
}

// Pending tells whether a run was cut off while its results were put in
// place, so that files of two runs may lie in the folder until Take.
func Pending(folder string) bool {
	_, err := os.Lstat(filepath.Join(folder, journalName))
	return err == nil
}
