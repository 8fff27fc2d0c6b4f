// Package newfile makes a file appear at its name whole or not at all, and
// leaves nothing behind, however the program ends: until it is whole the file
// has no name, where the disk knows such files.
package newfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// beside begins the names of files on the way, in the folder of what they are
// to become, on disks where files need a name.
const beside = ".rillwood-"

// Write makes or replaces the file at path by what write says, safe on the
// disk before it has its name, readable by all. After an error path is as it
// was. Errors of the disk name path.
func Write(path string, write func(io.Writer) error) error { return appear(path, write, true) }

// WriteNew is Write for a file that must not be there yet: fs.ErrExist when it
// is, even if it came to be there while write was at work.
func WriteNew(path string, write func(io.Writer) error) error { return appear(path, write, false) }

// WriteBytes is Write of these bytes.
func WriteBytes(path string, data []byte) error { return Write(path, put(data)) }

// WriteNewBytes is WriteNew of these bytes.
func WriteNewBytes(path string, data []byte) error { return WriteNew(path, put(data)) }

func put(data []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	}
}

func appear(path string, write func(io.Writer) error, replace bool) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("write %q: %w", path, err)
		}
	}()
	if _, err := os.Lstat(path); err == nil && !replace {
		return fs.ErrExist
	}
	dir := filepath.Dir(path)
	f, named, err := open(dir, strings.ToLower(filepath.Ext(path)))
	if err != nil {
		return bare(err)
	}
	defer f.Close()
	if named {
		defer os.Remove(f.Name()) // no file of this name is there when all went well
	}
	w := bufio.NewWriterSize(f, 1<<16)
	for _, step := range []func() error{
		func() error { return write(w) },
		w.Flush,
		func() error { return f.Chmod(0o644) },
		f.Sync,
		func() error { return give(f, named, path, replace) },
	} {
		if err := step(); err != nil {
			if p := (*fs.PathError)(nil); errors.As(err, &p) && p.Path != f.Name() {
				return err // of what write read
			}
			return bare(err)
		}
	}
	syncFolder(dir)
	return nil
}

// give gives a finished file its name.
func give(f *os.File, named bool, path string, replace bool) error {
	switch {
	case named && replace:
		return os.Rename(f.Name(), path)
	case named:
		err := os.Link(f.Name(), path) // unlike a rename it replaces nothing
		if err == nil || errors.Is(err, fs.ErrExist) {
			return err
		}
		// A disk without second names.
		if _, err := os.Lstat(path); err == nil {
			return fs.ErrExist
		}
		return os.Rename(f.Name(), path)
	}
	err := nameIt(f, path)
	if !replace || !errors.Is(err, fs.ErrExist) {
		return err
	}
	// A name beside it, for a moment: only a rename replaces a file.
	for range 100 {
		beside := filepath.Join(filepath.Dir(path), fresh())
		if err = nameIt(f, beside); errors.Is(err, fs.ErrExist) {
			continue
		} else if err != nil {
			return err
		}
		if err = os.Rename(beside, path); err != nil {
			os.Remove(beside)
		}
		return err
	}
	return err
}

// Unnamed makes a file in dir, for reading and writing, that has no name: the
// system takes it away with the program.
func Unnamed(dir string) (*os.File, error) {
	f, named, err := open(dir, "")
	if err != nil || !named {
		return f, err
	}
	if err := os.Remove(f.Name()); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

func openNamed(dir, ext string) (*os.File, bool, error) {
	f, err := os.CreateTemp(dir, beside+"*"+ext)
	return f, true, err
}

// syncFolder makes a name stay when the power fails; the bytes are safe
// already, and disks that know no such thing say so.
func syncFolder(dir string) {
	if d, err := os.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}

// bare takes operation and path out of an error that is told with its path.
func bare(err error) error {
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
