package field

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// keepOld makes the store's present file the backup. A second name of the same
// file is enough, since the store is never written in place; where a disk has
// no second names the file is copied.
func (s *Store) keepOld() error {
	backup := filepath.Join(s.dir, backupFile)
	link := backup + ".new"
	os.Remove(link) // left by somebody who was killed; the lock is ours
	if err := os.Link(s.Path(), link); err == nil {
		return os.Rename(link, backup)
	}
	data, err := os.ReadFile(s.Path())
	if err != nil {
		return err
	}
	return replace(backup, data)
}

// replace writes parts beside a file of the store, flushes them and renames
// them into place. The name beside is always the same, which the lock allows:
// writers that were killed leave one file at most, and the next one takes it.
func replace(path string, parts ...[]byte) error {
	beside := path + ".new"
	f, err := os.OpenFile(beside, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o644)
	if err != nil {
		return err
	}
	for _, p := range parts {
		if err == nil {
			_, err = f.Write(p)
		}
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(beside, path)
	}
	if err != nil {
		os.Remove(beside)
	}
	return err
}

// syncFolder makes a renamed file stay renamed when the power fails. Some
// disks know no such thing, which is no fault of the records.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("record store: %w", err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return fmt.Errorf("record store %q: %w", dir, err)
	}
	return nil
}

// lockPatience is how long a writer waits for another one, which at most
// copies a file.
const lockPatience = 10 * time.Second

// lock takes the store for writing. The system lets go of it when the
// program ends in whatever way, so the file that stays behind locks nobody out.
func lock(path string) (unlock func(), err error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, err
	}
	for end := time.Now().Add(lockPatience); ; time.Sleep(20 * time.Millisecond) {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if err == nil {
			return func() { f.Close() }, nil
		}
		if !errors.Is(err, syscall.EWOULDBLOCK) && !errors.Is(err, syscall.EINTR) {
			f.Close()
			return nil, fmt.Errorf("lock %q: %w", path, err)
		}
		if time.Now().After(end) {
			f.Close()
			return nil, errors.New("another program is writing to it; try again when that is done")
		}
	}
}
