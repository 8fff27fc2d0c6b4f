package main

import (
	"encoding/json"
	"fmt"

	"rillwood/habitat"
)

type mapCmd struct {
	Survey  string `arg:"" help:"Survey file." type:"path"`
	Output  string `short:"o" help:"Write into this folder instead of the survey's." type:"path" placeholder:"DIR"`
	Workers int    `help:"Number of workers; 0 for one for each processor." default:"-1" hidden:""`
	Memory  string `help:"Memory the run may use, such as 2GB; the rest goes to scratch files." placeholder:"SIZE"`
	Scratch string `help:"Folder for scratch files." type:"path" placeholder:"DIR"`
	Explore int    `help:"Keep so many places of the shortlist for visits that would teach most." default:"-1" placeholder:"N"`
	Profile string `help:"Profile to use instead of the survey's: a name or a file." placeholder:"FILE"`
	Quiet   bool   `short:"q" help:"No progress."`
	JSON    bool   `name:"json" help:"Print the summary as JSON."`
}

func (m *mapCmd) Run(c *console) error {
	s, err := habitat.LoadSurvey(m.Survey)
	if err != nil {
		return err
	}
	if m.Output != "" {
		s.Output.Folder = m.Output
	}
	if m.Workers >= 0 {
		s.Run.Workers = m.Workers
	}
	if m.Explore >= 0 {
		s.Shortlist.Explore = m.Explore
	}
	if m.Profile != "" {
		s.Profile = m.Profile
	}
	if m.Memory != "" {
		if err := s.Run.Memory.Parse(m.Memory); err != nil {
			return fmt.Errorf("--memory: %w", err)
		}
	}
	if m.Scratch != "" {
		s.Run.Scratch = m.Scratch
	}
	if err := s.Validate(); err != nil {
		return err
	}
	return makeMap(c, s, m.Quiet, m.JSON)
}

func makeMap(c *console, s *habitat.Survey, quiet, asJSON bool) error {
	report, end := progress(c, quiet)
	r, err := habitat.Map(c.ctx, s, report)
	end()
	if err != nil {
		return err
	}
	if asJSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		return e.Encode(struct {
			Folder   string          `json:"folder"`
			Counts   habitat.Summary `json:"counts"`
			Warnings []string        `json:"warnings"`
		}{r.Folder, r.Summary, append([]string{}, r.Summary.Warnings...)})
	}
	_, err = fmt.Fprint(c.out, r.Text())
	return err
}
