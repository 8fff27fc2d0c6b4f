package pack

import (
	"archive/zip"
	"compress/flate"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"time"

	"rillwood/habitat/results"
	"rillwood/habitat/sheet"
	"rillwood/vector"
)

// Files of a pack, in the order in which they lie in it.
const (
	readmeName    = "README.txt"
	waypointsName = "waypoints.gpx"
	sheetsName    = "sheets.html"
	csvName       = "shortlist.csv"
	gpkgName      = "shortlist.gpkg"
	styleName     = "suitability.sld"
	overviewName  = "overview.png"
)

// Choice says which candidates a pack is of.
type Choice struct {
	Ranks []int // in this order; empty = the first Top
	Top   int
}

// Packed says what a pack holds.
type Packed struct {
	Path  string   `json:"path"`
	Run   string   `json:"run"`
	Ranks []int    `json:"candidates"`
	Files []string `json:"files"`
	Bytes int64    `json:"bytes"`
	Notes []string `json:"notes"`
}

// Write makes the pack of a run at path, beside it first. A file that is there
// and is no zip archive is not replaced.
func Write(ctx context.Context, path string, run *results.Run, choice Choice) (*Packed, error) {
	list, err := choose(run, choice)
	if err != nil {
		return nil, err
	}
	if err := replaceable(path); err != nil {
		return nil, err
	}
	ranks := make([]int, len(list))
	for i, c := range list {
		ranks[i] = c.Rank
	}
	// GeoPackages are made by GDAL as files; the rest is small.
	work, err := os.MkdirTemp(filepath.Dir(path), ".rillwood-pack-*")
	if err != nil {
		return nil, fmt.Errorf("pack %q: %w", path, err)
	}
	defer os.RemoveAll(work)
	files := []string{readmeName, waypointsName, sheetsName, csvName, gpkgName, styleName}
	steps := []func() error{
		func() error { return writeText(filepath.Join(work, readmeName), readme(run, list)) },
		func() error { return writeGPX(filepath.Join(work, waypointsName), run, list) },
		func() error { return sheet.Write(ctx, filepath.Join(work, sheetsName), run, ranks) },
		func() error { return writeCSV(filepath.Join(work, csvName), run, list) },
		func() error { return writeGeoPackage(ctx, filepath.Join(work, gpkgName), run, list) },
		func() error { return writeText(filepath.Join(work, styleName), styleOf(run)) },
	}
	for _, step := range steps {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := step(); err != nil {
			return nil, fmt.Errorf("pack %q: %w", path, err)
		}
	}
	if picture, err := os.ReadFile(filepath.Join(run.Folder, "preview.png")); err == nil {
		if err := os.WriteFile(filepath.Join(work, overviewName), picture, 0o644); err != nil {
			return nil, fmt.Errorf("pack %q: %w", path, err)
		}
		files = append(files, overviewName)
	}
	if err := bundle(path, work, files); err != nil {
		return nil, err
	}
	st, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("pack %q: %w", path, err)
	}
	return &Packed{Path: path, Run: run.ID, Ranks: ranks, Files: files, Bytes: st.Size(), Notes: append([]string{}, run.Notes...)}, nil
}

// choose finds the candidates of a choice.
func choose(run *results.Run, choice Choice) ([]*results.Candidate, error) {
	if len(run.Candidates) == 0 {
		return nil, fmt.Errorf("the shortlist of the run is empty, so there is nothing to pack; lower shortlist.threshold or shortlist.min_ha of the survey and make the map again")
	}
	var list []*results.Candidate
	if len(choice.Ranks) == 0 {
		for i := range min(choice.Top, len(run.Candidates)) {
			list = append(list, &run.Candidates[i])
		}
		return list, nil
	}
	for i, rank := range choice.Ranks {
		c := run.Candidate(rank)
		if c == nil {
			return nil, fmt.Errorf("no candidate %d; the shortlist has %d to %d", rank, run.Candidates[0].Rank, run.Candidates[len(run.Candidates)-1].Rank)
		}
		if !slices.Contains(choice.Ranks[:i], rank) {
			list = append(list, c)
		}
	}
	return list, nil
}

// replaceable refuses to write over what is no archive.
func replaceable(path string) error {
	st, err := os.Lstat(path)
	if err != nil {
		return nil // free, or the writing will say what is wrong
	}
	if st.Mode().IsRegular() {
		f, err := os.Open(path)
		if err == nil {
			defer f.Close()
			var head [4]byte
			if _, err := io.ReadFull(f, head[:]); err == nil && string(head[:]) == "PK\x03\x04" {
				return nil
			}
		}
	}
	return fmt.Errorf("%q is there and is no zip archive, so it is left as it is; name another file with --output", path)
}

// packed is the date of every file in an archive: the first that the format
// can tell. Files say by their run id what they are of.
var packed = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// bundle puts the files into an archive.
func bundle(path, folder string, files []string) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		z := zip.NewWriter(w)
		z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestCompression) })
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

func writeText(path, text string) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
