package handover

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
)

// fsync is a variable so that tests can have disks that fail.
var fsync = (*os.File).Sync

// syncTree brings every file and folder of a tree to the disk.
func syncTree(root string) error {
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir():
			return syncDir(path)
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		return fsync(f)
	})
}

// syncDir brings the names in a folder to the disk. Some disks know no such
// thing for folders, which is no fault of the results.
func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := fsync(f); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil
}

// syncDirs does so for a results folder and its layers.
func syncDirs(folder string) error {
	if layers := filepath.Join(folder, layersName); realFolder(layers) {
		if err := syncDir(layers); err != nil {
			return err
		}
	}
	return syncDir(folder)
}

// writeSynced writes a small file beside path, safe on disk, and renames it.
func writeSynced(path string, data []byte) error {
	f, err := os.CreateTemp(filepath.Dir(path), leftover+"*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(data)
	if err == nil {
		err = fsync(f)
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		at("name " + filepath.Base(path))
		err = os.Rename(f.Name(), path)
	}
	if err == nil {
		err = syncDir(filepath.Dir(path))
	}
	return err
}
