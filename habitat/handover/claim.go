package handover

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// Names of what a run keeps in or beside its folder while it works.
const (
	stagePrefix = ".rillwood-new-"
	journalName = ".rillwood-moves"
	leftover    = ".rillwood-" // every temporary file and folder begins so
)

// errBusy is what lock says when another process holds the folder.
var errBusy = errors.New("busy")

// Claim holds a results folder for one run.
type Claim struct {
	folder string // absolute, links resolved
	named  string // as the user named it
	lock   *os.File
	made   bool // by this claim: removed again when nothing comes to lie in it
	stage  string
	within bool // the stage lies in the folder itself, not beside it
}

// Take makes the folder when it is not there, holds it against other runs, and
// clears up what a run that died left: moves of its journal are made, unfinished
// files are removed. A folder that another run holds is an error.
func Take(folder string) (*Claim, error) {
	c := &Claim{named: folder}
	if _, err := os.Lstat(folder); errors.Is(err, fs.ErrNotExist) {
		c.made = true
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("output folder %q cannot be made: %w", folder, plain(err))
	}
	abs, err := filepath.Abs(folder)
	if err == nil {
		abs, err = filepath.EvalSymlinks(abs)
	}
	if err != nil {
		return nil, fmt.Errorf("output folder %q: %w", folder, plain(err))
	}
	c.folder = abs
	if c.lock, err = lockFolder(abs); err != nil {
		if errors.Is(err, errBusy) {
			return nil, fmt.Errorf("output folder %q: another run is writing into it; wait for its end, or choose another folder", folder)
		}
		return nil, fmt.Errorf("output folder %q cannot be held for this run: %w", folder, plain(err))
	}
	if err := c.clear(); err != nil {
		c.Release()
		return nil, err
	}
	return c, nil
}

// Folder is the results folder, absolute.
func (c *Claim) Folder() string { return c.folder }

// clear finishes the moves of a journal and removes what a dead run left.
// Nobody else works here: the folder is held.
func (c *Claim) clear() error {
	if err := finishJournal(c.folder); err != nil {
		return fmt.Errorf("output folder %q: an earlier run was stopped while its results were put in place, and the rest cannot be: %w", c.named, plain(err))
	}
	for _, dir := range []string{c.folder, filepath.Join(c.folder, "layers")} {
		entries, err := os.ReadDir(dir)
		if err != nil {
			continue // no such folder, or one that Stage will complain of
		}
		for _, e := range entries {
			if strings.HasPrefix(e.Name(), leftover) {
				os.RemoveAll(filepath.Join(dir, e.Name()))
			}
		}
	}
	parent, prefix := filepath.Dir(c.folder), c.besidePrefix()
	entries, err := os.ReadDir(parent)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), prefix) {
			retire(filepath.Join(parent, e.Name()), c.folder)
		}
	}
	return nil
}

// besidePrefix begins the names of this folder's stages beside it. A digest
// stands for the folder's name, for no name may be the beginning of another.
func (c *Claim) besidePrefix() string {
	sum := sha256.Sum256([]byte(filepath.Base(c.folder)))
	return stagePrefix + hex.EncodeToString(sum[:4]) + "-"
}

// Stage makes the empty folder for the files of the run, on the same disk as
// the results.
func (c *Claim) Stage() (string, error) {
	if c.exchangeable() {
		if dir, err := os.MkdirTemp(filepath.Dir(c.folder), c.besidePrefix()); err == nil {
			if sameDisk(dir, c.folder) {
				c.stage = dir
				return dir, nil
			}
			os.Remove(dir)
		}
	}
	dir, err := os.MkdirTemp(c.folder, stagePrefix)
	if err != nil {
		return "", fmt.Errorf("output folder %q cannot be written into: %w", c.named, plain(err))
	}
	c.stage, c.within = dir, true
	return dir, nil
}

// Release gives the folder free and removes the stage. A folder that Take made
// and nothing came to lie in goes too.
func (c *Claim) Release() {
	if c.stage != "" {
		os.RemoveAll(c.stage)
		c.stage = ""
	}
	if c.made {
		os.Remove(c.folder) // fails, as it should, when something is in it
	}
	if c.lock != nil {
		c.lock.Close()
		c.lock = nil
	}
}

// plain takes operation and path out of an error that is told with them.
func plain(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}
