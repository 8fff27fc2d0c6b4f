package handover

import (
	"io/fs"
	"os"
	"path/filepath"
)

// syncTree brings every file and folder of a tree to the disk.
func syncTree(root string) error {
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		f, err := os.Open(path)
		if err != nil {
			return err
		}
		defer f.Close()
		return f.Sync()
	})
}

// syncDir brings the names in a folder to the disk.
func syncDir(dir string) error {
	f, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer f.Close()
	return f.Sync()
}

// syncDirs does so for a results folder and its layers.
func syncDirs(folder string) error {
	if st, err := os.Stat(filepath.Join(folder, "layers")); err == nil && st.IsDir() {
		if err := syncDir(filepath.Join(folder, "layers")); err != nil {
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
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err == nil {
		err = syncDir(filepath.Dir(path))
	}
	return err
}
