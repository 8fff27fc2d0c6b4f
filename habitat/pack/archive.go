package pack

import (
	"archive/zip"
	"compress/flate"
	"errors"
	"fmt"
	"image/png"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"rillwood/vector"
)

// packed is the date of every file in an archive: the first that the format
// can tell. Files say by their run id what they are of.
var packed = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// mark begins the comment of each archive, by which a pack is known again.
const mark = "Rillwood field pack"

// bundle puts the files of a folder into an archive, in that order.
func bundle(path, folder string, files []string, run string) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		z := zip.NewWriter(w)
		z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
		if err := z.SetComment(mark + ", run " + shortened(plain(run), 60)); err != nil {
			return err
		}
		for _, name := range files {
			h := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: packed}
			h.SetMode(0o644)
			in, err := os.Open(filepath.Join(folder, name))
			if err != nil {
				return err
			}
			out, err := z.CreateHeader(h)
			if err == nil {
				_, err = io.Copy(out, in)
			}
			in.Close()
			if err != nil {
				return err
			}
		}
		return z.Close()
	})
}

// replaceable refuses names that are no archive's, and to write over what is
// no field pack.
func replaceable(path string) error {
	if !strings.EqualFold(filepath.Ext(path), ".zip") {
		return fmt.Errorf("pack %q: the name of a pack ends in .zip; name such a file", path)
	}
	st, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("pack %q cannot be written: %w; name a file in another folder", path, bare(err))
	case st.Mode().IsRegular():
		if z, err := zip.OpenReader(path); err == nil {
			defer z.Close()
			if strings.HasPrefix(z.Comment, mark) {
				return nil
			}
		}
	}
	return fmt.Errorf("%q is there and is no field pack, so it is left as it is; name another file with --output", path)
}

// mostOverview is the largest picture that is packed.
const mostOverview = 64 << 20

// copyOverview copies the picture of a run. The folder may be a stranger's:
// only a plain file that is a PNG is taken, never what a link points to.
func copyOverview(path, folder string) error {
	from := filepath.Join(folder, "preview.png")
	st, err := os.Lstat(from)
	if err != nil {
		return err
	}
	if !st.Mode().IsRegular() || st.Size() > mostOverview {
		return fmt.Errorf("preview.png is no plain file of at most %d MB", mostOverview>>20)
	}
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("preview.png cannot be read: %w", bare(err))
	}
	defer in.Close()
	if _, err := png.DecodeConfig(in); err != nil {
		return errors.New("preview.png is no PNG picture")
	}
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return fmt.Errorf("preview.png cannot be read: %w", bare(err))
	}
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := io.Copy(w, io.LimitReader(in, mostOverview))
		return err
	})
}

// bare takes the path, which is told anyway, out of an error of the system.
func bare(err error) error {
	if at := (*fs.PathError)(nil); errors.As(err, &at) {
		return at.Err
	}
	return err
}

// shortened cuts a text to n characters.
func shortened(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n])
	}
	return s
}
