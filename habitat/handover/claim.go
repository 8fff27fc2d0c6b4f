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
	"time"
)

// Claim holds a results folder for one run.
type Claim struct {
	folder string // absolute, links resolved
	named  string // as the user named it
	held   []*os.File
	unheld bool     // on a disk that knows no locks
	byFile bool     // the lock is on a file in the folder
	made   []string // folders made by this claim, the deepest last: removed again when nothing comes to lie in them
	stage  string
	within bool // the stage lies in the folder itself, not beside it
}

// mostTries is how often Take makes a folder that others remove meanwhile.
const mostTries = 20

// Take makes the folder when it is not there, holds it against other runs,
// clears up what a run that died left (moves of its journal are made, unfinished
// files are removed), and looks whether results can be put there. A folder that
// another run holds is an error.
func Take(folder string) (*Claim, error) {
	c := &Claim{named: folder}
	err := c.hold()
	for try := 1; errors.Is(err, fs.ErrNotExist) && try < mostTries; try++ {
		err = c.hold() // a run that failed took away the folder it had made
	}
	if err != nil {
		return nil, err
	}
	for _, step := range []func() error{c.clear, c.probe} {
		if err := step(); err != nil {
			c.Release()
			return nil, err
		}
	}
	return c, nil
}

// HoldFor holds a finished run's folder for a command that puts the file path
// into it; nil, which may be released, when path lies elsewhere or there is no
// such folder.
func HoldFor(path, folder string) (*Claim, error) {
	a, err1 := os.Stat(filepath.Dir(path))
	b, err2 := os.Stat(folder)
	if err1 != nil || err2 != nil || !b.IsDir() || !os.SameFile(a, b) {
		return nil, nil
	}
	return Take(folder)
}

// Folder is the results folder, absolute.
func (c *Claim) Folder() string { return c.folder }

// hold makes the folder and locks it. Its error is fs.ErrNotExist when the
// folder went between the two.
func (c *Claim) hold() error {
	missing := missingFolders(c.named)
	if err := os.MkdirAll(c.named, 0o755); err != nil {
		if st, lerr := os.Lstat(c.named); lerr == nil && st.Mode()&fs.ModeSymlink != 0 {
			return fmt.Errorf("output folder %q is a link to something that is no folder; make that folder, or choose another one", c.named)
		}
		return fmt.Errorf("output folder %q cannot be made: %w", c.named, plain(err))
	}
	abs, err := filepath.Abs(c.named)
	if err == nil {
		abs, err = filepath.EvalSymlinks(abs)
	}
	if err != nil {
		return fmt.Errorf("output folder %q: %w", c.named, plain(err))
	}
	lock, byFile, err := lockFolder(abs)
	switch {
	case errors.Is(err, errBusy):
		return fmt.Errorf("output folder %q: another run is writing into it; wait for its end, or choose another folder", c.named)
	case errors.Is(err, errNoLocks):
		c.unheld = true
	case errors.Is(err, fs.ErrPermission), errors.Is(err, errReadOnly):
		return c.unwritable(err)
	case err != nil:
		return fmt.Errorf("output folder %q cannot be held for this run: %w", c.named, plain(err))
	default:
		c.held = append(c.held, lock)
	}
	c.folder, c.byFile, c.made = abs, byFile, missing
	return nil
}

// missingFolders lists the folders that MkdirAll would make, the deepest last.
func missingFolders(folder string) (list []string) {
	abs, err := filepath.Abs(folder)
	if err != nil {
		return nil
	}
	for ; abs != filepath.Dir(abs); abs = filepath.Dir(abs) {
		if _, err := os.Lstat(abs); !errors.Is(err, fs.ErrNotExist) {
			break
		}
		list = append([]string{abs}, list...)
	}
	return list
}

// stale is how old something unfinished must be to be taken for a dead run's,
// where no lock tells.
const stale = 24 * time.Hour

// clear finishes the moves of a journal and removes what a dead run left.
// Nobody else works here: the folder is held.
func (c *Claim) clear() error {
	if err := finishJournal(c.folder); err != nil {
		return fmt.Errorf("output folder %q: an earlier run was stopped while its results were put in place, and the rest cannot be: %w", c.named, plain(err))
	}
	for _, dir := range []string{c.folder, filepath.Join(c.folder, layersName)} {
		entries, err := os.ReadDir(dir)
		if err != nil || !realFolder(dir) {
			continue // no such folder, or one that probe will complain of
		}
		for _, e := range entries {
			// Stages of folders in this one are those runs' own.
			if n := e.Name(); strings.HasPrefix(n, leftover) && !strings.HasPrefix(n, besidePrefix) && n != lockName && c.dead(e) {
				at("clear")
				os.RemoveAll(filepath.Join(dir, n))
			}
		}
	}
	parent, prefix := filepath.Dir(c.folder), c.besides()
	entries, err := os.ReadDir(parent)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), prefix) && c.dead(e) {
			retire(filepath.Join(parent, e.Name()), c.folder)
		}
	}
	return nil
}

// dead tells whether something unfinished is nobody's any more.
func (c *Claim) dead(e fs.DirEntry) bool {
	if !c.unheld {
		return true
	}
	info, err := e.Info()
	return err == nil && time.Since(info.ModTime()) > stale
}

// besides begins the names of this folder's stages beside it. A digest stands
// for the folder's name, for no name may be the beginning of another.
func (c *Claim) besides() string {
	sum := sha256.Sum256([]byte(filepath.Base(c.folder)))
	return besidePrefix + hex.EncodeToString(sum[:4]) + "-"
}

// probe looks whether files can be put into the folder and its layers, so that
// a run does not work for nothing.
func (c *Claim) probe() error {
	file := filepath.Join(c.folder, probeName)
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return c.unwritable(err)
	}
	f.Close()
	layers := filepath.Join(c.folder, layersName)
	st, err := os.Lstat(layers)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return c.unwritable(err)
	case !st.IsDir():
		os.Remove(file)
		return fmt.Errorf("output folder %q: %q in it must be a folder and is a file or a link; move it away, or choose another folder", c.named, layersName)
	default:
		to := filepath.Join(layers, probeName)
		if err := os.Rename(file, to); err != nil {
			os.Remove(file)
			return fmt.Errorf("output folder %q: no file can be put into %q in it: %w; choose another folder", c.named, layersName, plain(err))
		}
		file = to
	}
	if err := os.Remove(file); err != nil {
		return c.unwritable(err)
	}
	return nil
}

func (c *Claim) unwritable(err error) error {
	return fmt.Errorf("output folder %q cannot be written into: %w; choose another folder, or mend this one", c.named, plain(err))
}

// Release gives the folder free and removes the stage. Folders that Take made
// and nothing came to lie in go too. A nil claim may be released.
func (c *Claim) Release() {
	if c == nil {
		return
	}
	if c.stage != "" {
		os.RemoveAll(c.stage)
		c.stage = ""
	}
	if c.byFile {
		os.Remove(filepath.Join(c.folder, lockName))
	}
	for i := len(c.made) - 1; i >= 0; i-- {
		if os.Remove(c.made[i]) != nil { // as it should, when something is in it
			break
		}
	}
	c.made = nil
	for _, f := range c.held {
		f.Close()
	}
	c.held = nil
}

// realFolder tells whether path is a folder and no link to one.
func realFolder(path string) bool {
	st, err := os.Lstat(path)
	return err == nil && st.IsDir()
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
