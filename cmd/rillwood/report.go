package main

import (
	"fmt"
	"path/filepath"
	"runtime/debug"
	"strings"

	"rillwood/habitat"
	"rillwood/habitat/handover"
)

type reportCmd struct {
	Folder  string `arg:"" name:"run" help:"Folder a map was written into." type:"path" complete:"folder"`
	Records string `help:"Folder of the field records (rillwood record) to show, and to hold the map against." type:"path" complete:"folder" placeholder:"STORE"`
	Before  string `help:"Folder of an earlier run, to show what was learned since." type:"path" complete:"folder" placeholder:"RUN"`
	Trip    string `help:"Plan of a day (trip.json of rillwood trip) to draw and list." type:"path" complete:"json" placeholder:"FILE"`
	Profile string `help:"Profile the map was made with, where it is not built in: the calibration needs it." complete:"profile" placeholder:"FILE"`
	Output  string `short:"o" help:"Page to write (default: report.html in the folder of the run)." type:"path" complete:"html" placeholder:"FILE"`
	JSON    bool   `name:"json" help:"Print what was written as JSON."`
}

func (r *reportCmd) Run(c *console) error {
	o := habitat.ReportOptions{Before: r.Before, Profile: r.Profile, Trip: r.Trip}
	if r.Records != "" {
		debug.SetGCPercent(100) // records are many small things with pointers: see main
		recs, err := loadStore(c, r.Records)
		if err != nil {
			return err
		}
		o.Records = recs
	}
	path := r.Output
	if path == "" {
		path = filepath.Join(r.Folder, "report.html")
	}
	// No other run's results may come into the folder meanwhile.
	claim, err := handover.HoldFor(path, r.Folder)
	if err != nil {
		return err
	}
	defer claim.Release()
	notes, err := habitat.Report(c.ctx, r.Folder, path, o)
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "wrote %s: open it in a browser; no network is needed\n", path)
	for _, n := range notes {
		fmt.Fprintf(&b, "note: %s\n", n)
	}
	return c.tell(r.JSON, struct {
		Path    string   `json:"path"`
		Records int      `json:"records"`
		Notes   []string `json:"notes"`
	}{path, len(o.Records), append([]string{}, notes...)}, b.String())
}
