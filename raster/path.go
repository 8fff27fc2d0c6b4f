package raster

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// LocalPath turns a user's path into an absolute path with links resolved,
// after making sure it is a plain file (or, with folder, a folder) on this
// machine: GDAL would otherwise take URLs, archives and connection strings
// for files.
func LocalPath(path string, folder bool) (string, error) {
	if path == "" {
		return "", errors.New("no file named")
	}
	if strings.Contains(path, "://") || strings.HasPrefix(path, "/vsi") || strings.ContainsAny(path, "\x00\n<") {
		return "", fmt.Errorf("%q is not the path of a file on this machine", path)
	}
	abs := path
	if !filepath.IsAbs(path) {
		wd, err := os.Getwd()
		if err != nil {
			return "", fmt.Errorf("%q: %w", path, err)
		}
		// Not cleaned: ".." behind a link means the parent of what it points at.
		abs = wd + string(filepath.Separator) + path
	}
	st, err := os.Stat(abs)
	if err == nil {
		abs, err = filepath.EvalSymlinks(abs)
	}
	if errors.Is(err, fs.ErrNotExist) {
		return "", fmt.Errorf("%q: no such file", path)
	} else if err != nil {
		return "", fmt.Errorf("%q: %w", path, err)
	}
	if strings.HasPrefix(strings.ToLower(abs), "/vsi") {
		return "", fmt.Errorf("%q: a path that begins with /vsi is not read; move the file", path)
	}
	if st.IsDir() != folder || (!folder && !st.Mode().IsRegular()) {
		if folder {
			return "", fmt.Errorf("%q is not a folder", path)
		}
		return "", fmt.Errorf("%q is not a plain file", path)
	}
	return abs, nil
}
