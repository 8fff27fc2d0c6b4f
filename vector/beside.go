package vector

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// WriteBeside writes a file through write into a temporary file in the same
// folder, flushes it to the disk and renames it to path, replacing what was
// there. After an error path is as it was and the temporary file is gone.
func WriteBeside(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".rillwood-*"+filepath.Ext(path))
	if err != nil {
		return fmt.Errorf("write %q: %w", path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
			err = fmt.Errorf("write %q: %w", path, err)
		}
	}()
	w := bufio.NewWriterSize(f, 1<<16)
	if err := write(w); err != nil {
		return err
	}
	if err := w.Flush(); err != nil {
		return err
	}
	return finish(f, path)
}

// finish flushes a complete temporary file, gives it the mode of an ordinary
// new file, closes it and renames it to path.
func finish(f *os.File, path string) error {
	if err := f.Chmod(0o644); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
