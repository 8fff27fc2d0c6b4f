package handover

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Commit puts the files of the stage (slashed names below it) in place and
// takes away those of gone, results of the run before that this one did not
// write. After an error the results of the run before are as they were; only
// a journal that could not be worked off is left to the next Take.
func (c *Claim) Commit(files, gone []string) error {
	for _, f := range append(append([]string{}, files...), gone...) {
		if !filepath.IsLocal(filepath.FromSlash(f)) {
			return fmt.Errorf("output folder %q: a result named %q would leave it", c.named, f)
		}
	}
	if err := syncTree(c.stage); err != nil {
		return c.fail(err)
	}
	if !c.within {
		err := c.exchange(files, gone)
		if !errors.Is(err, errNoExchange) {
			return err
		}
		// Moved in, so that the journal's moves stay within one folder.
		within := filepath.Join(c.folder, stagePrefix+"beside")
		if err := os.Rename(c.stage, within); err != nil {
			return c.fail(err)
		}
		c.stage, c.within = within, true
	}
	return c.byJournal(files, gone)
}

func (c *Claim) fail(err error) error {
	return fmt.Errorf("output folder %q: results cannot be put in place: %w; the earlier ones are as they were", c.named, plain(err))
}

// moves is the journal: what is left to do once a run is decided.
type moves struct {
	Stage string   `json:"stage"` // name of the stage in the folder
	Files []string `json:"files"`
	Gone  []string `json:"gone"`
}

func (c *Claim) byJournal(files, gone []string) error {
	m := moves{filepath.Base(c.stage), files, gone}
	data, err := json.Marshal(m)
	if err != nil {
		panic(err) // plain texts
	}
	// What cannot be moved is found before anything is decided.
	for _, f := range files {
		target := filepath.Join(c.folder, filepath.FromSlash(f))
		if st, err := os.Lstat(target); err == nil && st.IsDir() {
			return fmt.Errorf("output folder %q: %q is a folder, and a result of that name is to be put there; the earlier results are as they were", c.named, f)
		}
		if err := os.MkdirAll(filepath.Dir(target), 0o755); err != nil {
			return c.fail(err)
		}
	}
	journal := filepath.Join(c.folder, journalName)
	if err := writeSynced(journal, data); err != nil {
		return c.fail(err)
	}
	c.stage = "" // the journal's from here on
	if err := finishJournal(c.folder); err != nil {
		return fmt.Errorf("output folder %q: results are being put in place and cannot all be: %w; run the map again once that is mended", c.named, plain(err))
	}
	return nil
}

// finishJournal makes the moves of a journal that is there, and removes it.
// It may be cut off at any point and called again.
func finishJournal(folder string) error {
	path := filepath.Join(folder, journalName)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return err
	}
	var m moves
	if err := json.Unmarshal(data, &m); err != nil || !strings.HasPrefix(m.Stage, stagePrefix) || m.Stage != filepath.Base(m.Stage) {
		return fmt.Errorf("%q is no journal of a run; remove it and run the map again", path)
	}
	stage := filepath.Join(folder, m.Stage)
	for _, f := range m.Files {
		f = filepath.FromSlash(f)
		if !filepath.IsLocal(f) {
			return fmt.Errorf("%q names %q, which is outside the folder; remove it and run the map again", path, f)
		}
		err := os.Rename(filepath.Join(stage, f), filepath.Join(folder, f))
		if err != nil && !errors.Is(err, fs.ErrNotExist) { // moved before the crash
			return err
		}
	}
	for _, f := range m.Gone {
		if f = filepath.FromSlash(f); filepath.IsLocal(f) {
			os.Remove(filepath.Join(folder, f))
			os.Remove(filepath.Join(folder, filepath.Dir(f))) // goes only when empty; never the folder itself, which holds the journal
		}
	}
	if err := syncDirs(folder); err != nil {
		return err
	}
	if err := os.RemoveAll(stage); err != nil {
		return err
	}
	return os.Remove(path)
}

// Pending tells whether a run was cut off while its results were put in
// place, so that files of two runs may lie in the folder until Take.
func Pending(folder string) bool {
	_, err := os.Lstat(filepath.Join(folder, journalName))
	return err == nil
}
