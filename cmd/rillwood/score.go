package main

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"

	"rillwood/habitat"
	"rillwood/habitat/field"
	"rillwood/habitat/score"
	"rillwood/internal/newfile"
)

type scoreCmd struct {
	Folder      string `arg:"" name:"run" help:"Folder a map was written into." type:"path" complete:"folder"`
	Store       string `arg:"" help:"Folder of the field records (rillwood record)." type:"path" complete:"folder"`
	Profile     string `help:"Profile the map was made with: a name or a file." placeholder:"FILE" complete:"profile"`
	OutOfSeason bool   `help:"Count visits outside the season too."`
	Unconfirmed bool   `help:"Count finds told as not confirmed by spore print."`
	All         bool   `help:"Score by all records, those too that the profile has learned from: the figures then flatter."`
	Curve       string `help:"Folder to draw the calibration curves into, as SVG." type:"path" placeholder:"DIR" complete:"folder"`
	JSON        bool   `name:"json" help:"Print the scores as JSON."`
}

func (s *scoreCmd) Run(c *console) error {
	run, p, recs, err := openLearning(c, s.Folder, s.Store, s.Profile)
	if err != nil {
		return err
	}
	o := habitat.LearnOptions{OutOfSeason: s.OutOfSeason, Unconfirmed: s.Unconfirmed}
	if !s.All {
		o.Learned = p.Posterior
	}
	scored, err := habitat.ScoreRecords(c.ctx, run, p, recs, o)
	if err != nil {
		return err
	}
	if s.Curve != "" {
		if err := drawCurves(s.Curve, scored); err != nil {
			return err
		}
	}
	return c.tell(s.JSON, scored, scored.Text())
}

// drawCurves writes a calibration curve for each thing that was scored.
func drawCurves(dir string, s *habitat.Scored) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("--curve: %w", err)
	}
	for name, r := range map[string]*score.Report{"calibration-hosts.svg": s.Hosts, "calibration-finds.svg": s.Finds} {
		if r == nil {
			continue
		}
		if svg, ok := r.Curve(); ok {
			if err := newfile.WriteBytes(filepath.Join(dir, name), svg); err != nil {
				return fmt.Errorf("--curve: %w", err)
			}
		}
	}
	return nil
}

// openLearning opens what learning and scoring start from.
func openLearning(c *console, folder, store, profile string) (*habitat.Run, *habitat.Profile, []field.Record, error) {
	run, err := habitat.OpenRun(folder)
	if err != nil {
		return nil, nil, nil, err
	}
	p, err := run.LoadProfile(profile)
	if err != nil {
		return nil, nil, nil, err
	}
	// Records are many small things with pointers, unlike planes: see main.
	debug.SetGCPercent(100)
	recs, err := loadStore(c, store)
	return run, p, recs, err
}
