package pack

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"rillwood/habitat/handover"
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

// Write makes the pack of a run at path, beside it first. The name ends in .zip;
// a file that is there and is no field pack is not replaced.
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
	work, leave, err := handover.Room(filepath.Dir(path), "pack")
	if err != nil {
		return nil, fmt.Errorf("pack %q cannot be written: %w; name a file in another folder", path, bare(err))
	}
	defer leave()
	in := func(name string) string { return filepath.Join(work, name) }
	files := []string{readmeName, waypointsName, sheetsName, csvName, gpkgName, styleName}
	notes := slices.Clone(run.Notes)
	switch err := copyOverview(in(overviewName), run.Folder); {
	case err == nil:
		files = append(files, overviewName)
	case errors.Is(err, fs.ErrNotExist):
		notes = append(notes, "no preview.png in the folder of the run, so the pack has no "+overviewName)
	default:
		notes = append(notes, "not packed: "+err.Error())
	}
	for _, step := range []func() error{
		func() error { return writeText(in(readmeName), readme(run, list, files)) },
		func() error { return writeGPX(in(waypointsName), run, list) },
		func() error { return sheet.Write(ctx, in(sheetsName), run, ranks) },
		func() error { return writeCSV(in(csvName), run, list) },
		func() error { return writeGeoPackage(ctx, in(gpkgName), run, list) },
		func() error { return writeText(in(styleName), styleOf(run)) },
		func() error { return bundle(path, work, files, run.ID) },
	} {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := step(); err != nil {
			return nil, fmt.Errorf("pack %q: %w", path, err)
		}
	}
	st, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("pack %q: %w", path, bare(err))
	}
	return &Packed{Path: path, Run: run.ID, Ranks: ranks, Files: files, Bytes: st.Size(), Notes: append([]string{}, notes...)}, nil
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
			return nil, fmt.Errorf("no candidate %d; the shortlist has %s", rank, listed(run))
		}
		if !slices.Contains(choice.Ranks[:i], rank) {
			list = append(list, c)
		}
	}
	return list, nil
}

// listed says which ranks there are.
func listed(run *results.Run) string {
	first, last := run.Candidates[0].Rank, run.Candidates[len(run.Candidates)-1].Rank
	if first == last {
		return fmt.Sprintf("%d only", first)
	}
	return fmt.Sprintf("%d to %d", first, last)
}

func writeText(path, text string) error {
	return vector.WriteBeside(path, func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	})
}
