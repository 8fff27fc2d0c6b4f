//go:build unix

package handover

import (
	"errors"
	"os"
	"syscall"
)

// lockFolder holds a folder until the file is closed or the process ends. The
// lock is on the folder itself, so that no lock file is left anywhere. On
// disks that know no locks the run goes on without.
func lockFolder(folder string) (*os.File, error) {
	for {
		f, err := os.Open(folder)
		if err != nil {
			return nil, err
		}
		switch err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); {
		case errors.Is(err, syscall.EWOULDBLOCK):
			f.Close()
			return nil, errBusy
		case errors.Is(err, syscall.EINTR):
			f.Close()
			continue
		}
		// The folder may have been exchanged between opening and locking.
		held, err1 := f.Stat()
		now, err2 := os.Stat(folder)
		if err1 == nil && err2 == nil && os.SameFile(held, now) {
			return f, nil
		}
		f.Close()
		if err2 != nil {
			return nil, err2
		}
	}
}

func sameDisk(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	if err1 != nil || err2 != nil {
		return false
	}
	s, ok1 := x.Sys().(*syscall.Stat_t)
	t, ok2 := y.Sys().(*syscall.Stat_t)
	return ok1 && ok2 && s.Dev == t.Dev
}
