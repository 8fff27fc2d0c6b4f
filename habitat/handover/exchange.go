package handover

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
)

// errNoExchange is what exchange says when the folders cannot change places.
var errNoExchange = errors.New("folders cannot be exchanged here")

// mostCarried is how many files of the user's own are carried over into the
// new folder; with more the files move one by one instead.
const mostCarried = 200

// exchangeable tells whether the folder may change places with a stage beside
// it: it is no mount point, nobody stands in it, and what the user keeps in it
// is few plain files.
func (c *Claim) exchangeable() bool {
	if !canExchange || filepath.Dir(c.folder) == c.folder {
		return false
	}
	if wd, err := os.Getwd(); err != nil || under(wd, c.folder) {
		return false // the shell that started the run would be left in a folder that is gone
	}
	return sameDisk(filepath.Dir(c.folder), c.folder)
}

func under(path, folder string) bool {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}

// exchange makes the stage the results folder in one step. What the user keeps
// in the folder is in both by then, by hard links.
func (c *Claim) exchange(files, gone []string) error {
	ours := map[string]bool{"layers": true}
	for _, f := range append(append([]string{}, files...), gone...) {
		ours[f] = true
	}
	if err := carry(c.folder, c.stage, ours); err != nil {
		return errNoExchange
	}
	if st, err := os.Stat(c.folder); err == nil {
		if err := os.Chmod(c.stage, st.Mode().Perm()); err != nil {
			return errNoExchange
		}
	}
	if err := syncDir(c.stage); err != nil {
		return c.fail(err)
	}
	if err := swapFolders(c.stage, c.folder); err != nil {
		return errNoExchange
	}
	// Decided. From here on nothing may be told as a failure.
	old := c.stage
	c.stage = ""
	syncDir(filepath.Dir(c.folder))
	retire(old, c.folder)
	return nil
}

// carry links what is in the old folder and not ours into the new one.
func carry(old, fresh string, ours map[string]bool) error {
	entries, err := os.ReadDir(old)
	if err != nil {
		return err
	}
	layers, err := os.ReadDir(filepath.Join(old, "layers"))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	var names []string
	for _, e := range entries {
		switch {
		case ours[e.Name()] || strings.HasPrefix(e.Name(), leftover):
		case !e.Type().IsRegular():
			return errNoExchange
		default:
			names = append(names, e.Name())
		}
	}
	for _, e := range layers {
		name := "layers/" + e.Name()
		switch {
		case ours[name] || strings.HasPrefix(e.Name(), leftover):
		case !e.Type().IsRegular():
			return errNoExchange
		default:
			names = append(names, name)
		}
	}
	if len(names) > mostCarried {
		return errNoExchange
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
// that was never finished. What came to lie in it meanwhile and is not in the
// new folder is moved there, should the run's own record say that it had been
// the results; nothing of the user's is removed.
func retire(old, folder string) {
	record := filepath.Join(old, "run.json")
	if _, err := os.Lstat(record); err != nil {
		os.RemoveAll(old) // never finished: nobody but a run has written here
		return
	}
	for _, dir := range []string{"", "layers"} {
		entries, err := os.ReadDir(filepath.Join(old, dir))
		if err != nil {
			continue
		}
		for _, e := range entries {
			from, to := filepath.Join(old, dir, e.Name()), filepath.Join(folder, dir, e.Name())
			if e.Name() == "layers" || strings.HasPrefix(e.Name(), leftover) || ownName(dir, e.Name()) {
				continue
			}
			if _, err := os.Lstat(to); errors.Is(err, os.ErrNotExist) {
				if os.MkdirAll(filepath.Dir(to), 0o755) != nil || os.Rename(from, to) != nil {
					return // better two folders than a file lost
				}
			}
		}
	}
	os.RemoveAll(old)
}

// ownName tells whether a run writes files of this name.
func ownName(dir, name string) bool {
	if dir == "layers" {
		return strings.HasSuffix(name, ".tif")
	}
	switch name {
	case "suitability.tif", "relief.tif", "streams.gpkg", "shortlist.geojson", "ways.geojson", "preview.png", "report.html", "run.json":
		return true
	}
	return false
}
