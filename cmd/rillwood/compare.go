package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"rillwood/habitat/compare"
)

type compareCmd struct {
	A       string `arg:"" name:"run-a" help:"Folder of the run before." type:"path" complete:"folder"`
	B       string `arg:"" name:"run-b" help:"Folder of the run after." type:"path" complete:"folder"`
	Output  string `short:"o" help:"Write changes.geojson and difference.tif (suitability after less before) into this folder." type:"path" complete:"folder" placeholder:"DIR"`
	Top     int    `help:"Tell of candidates that are or were among the first N." default:"10" placeholder:"N"`
	All     bool   `help:"Tell of every candidate."`
	Workers int    `help:"Number of workers; 0 for one for each processor." default:"0" hidden:""`
	JSON    bool   `name:"json" help:"Print the comparison as JSON."`
}

func (k *compareCmd) Run(c *console) error {
	if k.Top < 1 {
		return fmt.Errorf("--top: expected a number of candidates from 1 on, found %d; use --all for every one", k.Top)
	}
	if k.Output != "" {
		for _, run := range []string{k.A, k.B} {
			if within(k.Output, run) {
				return fmt.Errorf("--output: %q lies in the folder of a run, which is only read; give another folder", k.Output)
			}
		}
	}
	a, err := compare.Open(k.A, "A")
	if err != nil {
		return err
	}
	b, err := compare.Open(k.B, "B")
	if err != nil {
		return err
	}
	workers := k.Workers
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	r, err := compare.Runs(c.ctx, a, b, k.Top, workers)
	if err != nil {
		return err
	}
	if k.Output != "" {
		if err := k.write(c, r, workers); err != nil {
			return err
		}
	}
	rows := k.Top
	if k.All {
		rows = 0
	}
	return c.tell(k.JSON, r, r.Text(rows))
}

// write leaves the files, and takes away the difference of an earlier
// comparison where this one has none.
func (k *compareCmd) write(c *console, r *compare.Result, workers int) error {
	if err := os.MkdirAll(k.Output, 0o755); err != nil {
		return fmt.Errorf("--output: %w", err)
	}
	raster := filepath.Join(k.Output, "difference.tif")
	if r.Raster != nil {
		if err := r.Raster.Write(c.ctx, raster, workers); err != nil {
			return err
		}
	} else if err := os.Remove(raster); err != nil && !os.IsNotExist(err) {
		return fmt.Errorf("--output: %w", err)
	}
	return r.WriteChanges(filepath.Join(k.Output, "changes.geojson"))
}

// within tells whether a folder is another one or lies in it, links resolved
// as far as the folder exists.
func within(path, folder string) bool {
	if real, err := filepath.EvalSymlinks(folder); err == nil {
		folder = real
	}
	for p, rest := path, ""; ; p, rest = filepath.Dir(p), filepath.Join(filepath.Base(p), rest) {
		if real, err := filepath.EvalSymlinks(p); err == nil {
			path = filepath.Join(real, rest)
			break
		}
		if p == filepath.Dir(p) {
			break
		}
	}
	rel, err := filepath.Rel(folder, path)
	return err == nil && rel != ".." && !strings.HasPrefix(rel, ".."+string(filepath.Separator))
}
