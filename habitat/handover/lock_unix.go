//go:build unix

package handover

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
)

var (
	// errBusy is what a lock says when another process holds it.
	errBusy = errors.New("busy")
	// errNoLocks is what a lock says on a disk that knows none.
	errNoLocks = errors.New("no locks here")

	errReadOnly error = syscall.EROFS
)

// flock is a variable so that tests can have disks that know no locks.
var flock = syscall.Flock

// lockFolder holds a folder until the file is closed or the process ends in
// whatever way. The lock is on the folder itself, so that no lock file is left
// anywhere; network disks lock only files that are open for writing, and there
// a file in the folder is locked (byFile).
func lockFolder(folder string) (f *os.File, byFile bool, err error) {
	if f, err = lockPath(folder, os.O_RDONLY); !errors.Is(err, errNoLocks) {
		return f, false, err
	}
	path := filepath.Join(folder, lockName)
	f, err = lockPath(path, os.O_RDWR|os.O_CREATE)
	if errors.Is(err, errNoLocks) {
		os.Remove(path)
	}
	return f, err == nil, err
}

func lockPath(path string, flags int) (*os.File, error) {
	for {
		f, err := os.OpenFile(path, flags, 0o644)
		if err != nil {
			return nil, err
		}
		if err := flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
			f.Close()
			switch {
			case errors.Is(err, syscall.EWOULDBLOCK):
				return nil, errBusy
			case errors.Is(err, syscall.EINTR):
				continue
			}
			return nil, errNoLocks // ENOLCK, ENOTSUP, EINVAL, EBADF: each disk says it in its own way
		}
		// It may have been exchanged or removed between opening and locking.
		held, err1 := f.Stat()
		now, err2 := os.Stat(path)
		if err1 == nil && err2 == nil && os.SameFile(held, now) {
			return f, nil
		}
		f.Close()
		if err2 != nil && flags&os.O_CREATE == 0 {
			return nil, err2
		}
	}
}

// sameOwner gives a folder the owner and group of another.
func sameOwner(path, as string) error {
	x, err1 := os.Stat(path)
	y, err2 := os.Stat(as)
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	s, ok1 := x.Sys().(*syscall.Stat_t)
	t, ok2 := y.Sys().(*syscall.Stat_t)
	if !ok1 || !ok2 {
		return errors.ErrUnsupported
	}
	if s.Uid == t.Uid && s.Gid == t.Gid {
		return nil
	}
	return os.Chown(path, int(t.Uid), int(t.Gid))
}
