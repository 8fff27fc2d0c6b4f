package habitat

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sort"
	"strings"
)

// InputFile is one file a run read.
type InputFile struct {
	Role   string `json:"role"`
	Path   string `json:"path"` // as the survey names it, relative to the survey file where it can be
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// startDigests reads the inputs in the background; the returned function waits.
func startDigests(in *Inputs) func() ([]InputFile, error) {
	type item struct{ role, path string }
	var items []item
	for _, e := range in.Elevation {
		items = append(items, item{"elevation", e.Path})
	}
	for _, p := range in.Survey.Streams.Path {
		items = append(items, item{"streams", p})
	}
	for _, e := range in.LandCover {
		items = append(items, item{"landcover", e.Path})
	}
	if p := in.Survey.Area.Path; p != "" {
		items = append(items, item{"area", p})
	}
	if l := in.Survey.LandCover; len(l.Path) > 0 && isPath(l.Legend) {
		items = append(items, item{"legend", l.Legend})
	}
	for _, l := range in.Survey.layers() {
		items = append(items, item{l.field, l.spec.Path})
	}
	for i, r := range in.Survey.Inventory.Rasters {
		for _, p := range in.hostRasters[i] {
			items = append(items, item{at("inventory.rasters", i) + " " + r.Host, p})
		}
	}
	for _, e := range in.Survey.evidenceLayers() {
		if isPath(e.tableName()) {
			items = append(items, item{e.field + ".table", e.tableName()})
		}
	}
	before := make([]string, len(items))
	for i, it := range items {
		before[i] = stamp(it.path)
	}
	base := filepath.Dir(in.Survey.File)
	type answer struct {
		files []InputFile
		err   error
	}
	done := make(chan answer, 1)
	go func() {
		var a answer
		for _, it := range items {
			f := InputFile{Role: it.role, Path: it.path}
			if rel, err := filepath.Rel(base, it.path); err == nil && in.Survey.File != "" {
				f.Path = filepath.ToSlash(rel)
			}
			f.Bytes, f.SHA256, a.err = digest(it.path)
			if a.err != nil {
				a.err = fmt.Errorf("%s: %q cannot be read any more: %w; run the map again when it is there and nothing writes to it", it.role, it.path, bareError(a.err))
				break
			}
			a.files = append(a.files, f)
		}
		done <- a
	}()
	return func() ([]InputFile, error) {
		a := <-done
		for i, it := range items {
			if a.err == nil && stamp(it.path) != before[i] {
				a.err = fmt.Errorf("%s: %q was changed or taken away while the run read it; run the map again when it is there and nothing writes to it", it.role, it.path)
			}
		}
		return a.files, a.err
	}
}

// stamp changes when a file is written to or replaced, so that a map is never
// of one state of it and its record of another.
func stamp(path string) string {
	paths, err := filesOf(path)
	if err != nil {
		return err.Error()
	}
	var b strings.Builder
	for _, p := range paths {
		if st, err := os.Stat(p); err == nil {
			fmt.Fprintf(&b, "%s %d %d\n", filepath.Base(p), st.Size(), st.ModTime().UnixNano())
		} else {
			fmt.Fprintf(&b, "%s is gone\n", filepath.Base(p))
		}
	}
	return b.String()
}

// bareError takes operation and path out of an error that is told with them.
func bareError(err error) error {
	if p := (*fs.PathError)(nil); errors.As(err, &p) {
		return p.Err
	}
	return err
}

// digest sums up a file, or a folder (a file geodatabase) with its files'
// names in order. The companions of a shapefile count with it.
func digest(path string) (int64, string, error) {
	paths, err := filesOf(path)
	if err != nil {
		return 0, "", err
	}
	h := sha256.New()
	var n int64
	for _, p := range paths {
		if len(paths) > 1 {
			fmt.Fprintf(h, "%s\n", filepath.Base(p))
		}
		k, err := addFile(h, p)
		if err != nil {
			return 0, "", err
		}
		n += k
	}
	return n, hex.EncodeToString(h.Sum(nil)), nil
}

// filesOf lists the files that are one input, in order of their names.
func filesOf(path string) ([]string, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	paths := []string{path}
	switch {
	case st.IsDir():
		entries, err := os.ReadDir(path)
		if err != nil {
			return nil, err
		}
		paths = nil
		for _, e := range entries {
			if e.Type().IsRegular() {
				paths = append(paths, filepath.Join(path, e.Name()))
			}
		}
	case filepath.Ext(path) == ".shp":
		for _, ext := range []string{".dbf", ".prj", ".shx", ".cpg"} {
			if p := path[:len(path)-4] + ext; fileExists(p) {
				paths = append(paths, p)
			}
		}
	}
	sort.Strings(paths)
	return paths, nil
}

func addFile(h hash.Hash, path string) (int64, error) {
	f, err := os.Open(path)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	return io.CopyBuffer(h, f, make([]byte, 1<<20))
}

func fileExists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
