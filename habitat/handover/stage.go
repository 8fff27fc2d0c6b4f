package handover

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// Stage makes the empty folder for the files of the run: beside the results
// where the two can change places, else in them.
func (c *Claim) Stage() (string, error) {
	dir, err := os.MkdirTemp(c.folder, stagePrefix)
	if err != nil {
		return "", c.unwritable(err)
	}
	c.stage, c.within = dir, true
	if c.exchangeable() {
		// A folder that can be moved out can be moved in again: it is no other disk.
		beside := filepath.Join(filepath.Dir(c.folder), c.besides()+strings.TrimPrefix(filepath.Base(dir), stagePrefix))
		if os.Rename(dir, beside) == nil {
			c.stage, c.within = beside, false
		}
	}
	return c.stage, nil
}

// exchangeable tells whether the folder may change places with a stage beside
// it: its lock is not in it, and nobody stands in it.
func (c *Claim) exchangeable() bool {
	if !canExchange || c.byFile || filepath.Dir(c.folder) == c.folder {
		return false
	}
	if wd, err := os.Getwd(); err != nil || under(wd, c.folder) {
		return false // the shell that started the run would be left in a folder that is gone
	}
	return true
}

func under(path, folder string) bool {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// Commit puts the files of the stage (slashed names below it) in place and
// takes away those of gone, results of the run before that this one did not
// write. After an error the results of the run before are as they were, unless
// the error says that the new ones are in place; only a journal that could not
// be worked off is left to the next Take.
func (c *Claim) Commit(files, gone []string) error {
	for _, list := range [][]string{files, gone} {
		for _, f := range list {
			switch {
			case !filepath.IsLocal(filepath.FromSlash(f)):
				return fmt.Errorf("output folder %q: a result named %q would leave it", c.named, f)
			case !Owns(f):
				return fmt.Errorf("output folder %q: %q is not the name of a result", c.named, f)
			}
		}
	}
	at("sync")
	if err := syncTree(c.stage); err != nil {
		return c.fail(err)
	}
	if !c.within {
		done, err := c.exchange(files, gone)
		if done || err != nil {
			return err
		}
		// Moved in, so that the journal's moves stay within one folder.
		within := filepath.Join(c.folder, stagePrefix+"beside")
		at("move in")
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

// at is called before each step that changes something, so that tests can end
// the program there.
var at = func(step string) {}
