package habitat

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"hash"
	"io"
	"os"
	"path/filepath"
	"sort"
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
				break
			}
			a.files = append(a.files, f)
		}
		done <- a
	}()
	return func() ([]InputFile, error) { a := <-done; return a.files, a.err }
}

// digest sums up a file, or a folder (a file geodatabase) with its files'
// names in order. The companions of a shapefile count with it.
func digest(path string) (int64, string, error) {
	st, err := os.Stat(path)
	if err != nil {
		return 0, "", err
	}
	paths := []string{path}
	switch {
	case st.IsDir():
		entries, err := os.ReadDir(path)
		if err != nil {
			return 0, "", err
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
