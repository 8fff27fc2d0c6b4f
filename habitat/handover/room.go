package handover

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Room makes a folder in dir for what a command makes on its way to a file
// there. kind names the command. The folder is held while it is in use; those
// of programs that have ended are removed first. leave removes it.
func Room(dir, kind string) (path string, leave func(), err error) {
	prefix := leftover + kind + "-"
	sweep(dir, prefix)
	for try := 1; ; try++ {
		if path, err = os.MkdirTemp(dir, prefix); err != nil {
			return "", nil, err
		}
		held, err := lockPath(path, os.O_RDONLY)
		switch {
		case err == nil || errors.Is(err, errNoLocks):
			return path, func() {
				os.RemoveAll(path)
				if held != nil {
					held.Close()
				}
			}, nil
		case (errors.Is(err, fs.ErrNotExist) || errors.Is(err, errBusy)) && try < mostTries:
			// Another command took it for a dead one's before it was held.
		default:
			os.Remove(path)
			return "", nil, fmt.Errorf("hold %q: %w", path, plain(err))
		}
	}
}

// sweep removes the rooms that nobody holds any more.
func sweep(dir, prefix string) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return
	}
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), prefix) {
			continue
		}
		path := filepath.Join(dir, e.Name())
		f, err := lockPath(path, os.O_RDONLY)
		switch {
		case err == nil:
			os.RemoveAll(path)
			f.Close()
		case errors.Is(err, errNoLocks):
			if info, err := e.Info(); err == nil && time.Since(info.ModTime()) > stale {
				os.RemoveAll(path)
			}
		}
	}
}
