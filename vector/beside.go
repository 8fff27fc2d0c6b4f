package vector

import (
	"io"
	"os"

	"rillwood/internal/newfile"
)

// WriteBeside writes a file through write, flushes it to the disk and gives it
// its name only then, replacing what was there. After an error path is as it
// was, and nothing is left beside it.
func WriteBeside(path string, write func(io.Writer) error) error { return newfile.Write(path, write) }

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
