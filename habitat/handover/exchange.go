package handover

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// errForeign is what carry says of what it cannot have in two folders at once.
var errForeign = errors.New("not to be carried over")

// mostCarried is how many files of the user's own are carried over into the
// new folder; with more the files move one by one instead.
const mostCarried = 200

// exchange makes the stage the results folder in one step. What the user keeps
// in the folder is in both by then, by hard links. done is false where the
// folders cannot change places: then nothing has changed.
func (c *Claim) exchange(files, gone []string) (done bool, err error) {
	past := append(append([]string{}, files...), gone...)
	at("carry")
	if carry(c.folder, c.stage, past) != nil || alike(c.stage, c.folder) != nil {
		return false, nil
	}
	// Held as well, so that no other run comes in before the old one is gone.
	next, _, err := lockFolder(c.stage)
	if err == nil {
		c.held = append(c.held, next)
	} else if !c.unheld {
		return false, nil
	}
	if err := syncDirs(c.stage); err != nil {
		return false, c.fail(err)
	}
	// The names of what is the run's tell retire what is the user's.
	mark, err := json.Marshal(past)
	if err != nil {
		panic(err) // plain texts
	}
	at("mark")
	marked := filepath.Join(c.folder, markName)
	if err := writeSynced(marked, mark); err != nil {
		os.Remove(marked)
		return false, c.fail(err)
	}
	at("exchange")
	if err := swapFolders(c.stage, c.folder); err != nil {
		os.Remove(marked)
		return false, nil
	}
	// Decided.
	old := c.stage
	c.stage = ""
	at("sync exchange")
	if err := syncDir(filepath.Dir(c.folder)); err != nil {
		// The old results stay beside the new ones until the next run.
		return true, fmt.Errorf("output folder %q: the new results are in place, but the disk does not say that they are safe there: %w; look after the disk, then run the map again", c.named, plain(err))
	}
	retire(old, c.folder)
	return true, nil
}

// alike gives the stage the looks of the results folder: owner, mode, further
// attributes such as access lists. Where it cannot, they must not be exchanged.
func alike(stage, folder string) error {
	st, err := os.Stat(folder)
	if err != nil {
		return err
	}
	if err := sameOwner(stage, folder); err != nil {
		return err
	}
	if err := os.Chmod(stage, st.Mode()&(os.ModePerm|os.ModeSetuid|os.ModeSetgid|os.ModeSticky)); err != nil {
		return err
	}
	return sameAttributes(stage, folder)
}

// carry links what is in the old folder and not the run's into the new one.
func carry(old, fresh string, past []string) error {
	ours := map[string]bool{layersName: true}
	for _, f := range past {
		ours[f] = true
	}
	var names []string
	for _, dir := range []string{"", layersName} {
		entries, err := os.ReadDir(filepath.Join(old, dir))
		if err != nil && !(dir != "" && errors.Is(err, os.ErrNotExist)) {
			return err
		}
		for _, e := range entries {
			name := filepath.ToSlash(filepath.Join(dir, e.Name()))
			switch {
			case strings.HasPrefix(e.Name(), besidePrefix):
				return errForeign // a run into a folder in this one is at work
			case ours[name] || strings.HasPrefix(e.Name(), leftover):
			case !e.Type().IsRegular():
				return errForeign
			default:
				names = append(names, name)
			}
		}
	}
	if len(names) > mostCarried {
		return errForeign
	}
	for _, n := range names {
		n = filepath.FromSlash(n)
		if err := os.MkdirAll(filepath.Dir(filepath.Join(fresh, n)), 0o755); err != nil {
			return err
		}
		if err := os.Link(filepath.Join(old, n), filepath.Join(fresh, n)); err != nil {
			return err
		}
	}
	return nil
}

// retire removes a folder that has been exchanged for a newer one, or a stage
// that was never finished. What the user put into it after it was carried over
// is moved to the new folder; nothing of the user's is removed.
func retire(old, folder string) {
	data, err := os.ReadFile(filepath.Join(old, markName))
	if err != nil || !realFolder(old) {
		at("remove unfinished")
		os.RemoveAll(old) // never the results: nobody but a run has written here
		return
	}
	var past []string
	if json.Unmarshal(data, &past) != nil {
		return
	}
	ours := map[string]bool{}
	for _, f := range past {
		ours[f] = Owns(f)
	}
	for _, dir := range []string{layersName, ""} {
		if !realFolder(filepath.Join(old, dir)) {
			continue
		}
		entries, err := os.ReadDir(filepath.Join(old, dir))
		if err != nil {
			return
		}
		for _, e := range entries {
			name := filepath.ToSlash(filepath.Join(dir, e.Name()))
			from, to := filepath.Join(old, dir, e.Name()), filepath.Join(folder, dir, e.Name())
			switch {
			case name == layersName && e.IsDir() || name == markName:
			case strings.HasPrefix(e.Name(), leftover) || ours[name] && !e.IsDir():
				at("remove old " + name)
				os.RemoveAll(from)
			case !rescue(from, to):
				return // better two folders than a file lost
			}
		}
	}
	at("remove old")
	os.Remove(filepath.Join(old, layersName))
	os.Remove(filepath.Join(old, markName))
	os.Remove(old)
}

// rescue brings what is the user's from a retired folder to the one in use. A
// file that is there already is the same one, or one of the two was saved anew
// since: the younger is the user's last word.
func rescue(from, to string) bool {
	a, err := os.Lstat(from)
	if err != nil {
		return false
	}
	b, err := os.Lstat(to)
	switch {
	case errors.Is(err, os.ErrNotExist):
		if os.MkdirAll(filepath.Dir(to), 0o755) != nil {
			return false
		}
	case err != nil || a.IsDir() || b.IsDir():
		return false
	case os.SameFile(a, b) || !a.ModTime().After(b.ModTime()):
		return os.Remove(from) == nil
	}
	at("rescue")
	return os.Rename(from, to) == nil
}
