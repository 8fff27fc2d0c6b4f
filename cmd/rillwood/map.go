package main

import (
	"fmt"
	"io"
	"strings"

	"rillwood/habitat"
)

type mapCmd struct {
	Survey  string `arg:"" help:"Survey file." type:"path" complete:"yaml,yml"`
	Output  string `short:"o" help:"Write into this folder instead of the survey's." type:"path" placeholder:"DIR" complete:"folder"`
	Workers int    `help:"Number of workers; 0 for one for each processor." default:"-1" hidden:""`
	Memory  string `help:"Memory the run may use, such as 2GB; the rest goes to scratch files." placeholder:"SIZE"`
	Scratch string `help:"Folder for scratch files." type:"path" placeholder:"DIR" complete:"folder"`
	Cache   string `help:"Folder where slow stages are kept for the next run, or none; default: the user's cache folder." complete:"folder" placeholder:"DIR"`
	Explore int    `help:"Keep so many places of the shortlist for visits that would teach most." default:"-1" placeholder:"N"`
	Profile string `help:"Profile to use instead of the survey's: a name or a file." placeholder:"FILE" complete:"profile"`
	Target  string `help:"Another target of the same ground, built in or a file; the results go into a folder of their own." placeholder:"NAME" complete:"target"`
	Quiet   bool   `short:"q" help:"No progress."`
	JSON    bool   `name:"json" help:"Print the summary as JSON."`
}

func (m *mapCmd) Run(c *console) error {
	s, err := habitat.LoadSurvey(m.Survey)
	if err != nil {
		return err
	}
	if m.Target != "" {
		if err := aim(s, m.Target); err != nil {
			return err
		}
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
	if m.Cache != "" {
		s.Run.Cache = m.Cache
	}
	if s.Run.Cache == "" {
		s.Run.Cache = "auto"
	}
	if m.Scratch != "" {
		s.Run.Scratch = m.Scratch
	}
	if err := s.Validate(); err != nil {
		return err
	}
	report, end := progress(c, m.Quiet, mapWindows(s), 0)
	r, err := habitat.Map(c.ctx, s, report)
	end(err)
	if err != nil {
		return err
	}
	return tellMap(c, m.JSON, r, "")
}

// aim gives a survey another target, and a folder of its own beside that of
// the survey's, whose map stays.
func aim(s *habitat.Survey, target string) error {
	t, err := habitat.LoadTarget(target)
	if err != nil {
		return fmt.Errorf("--target: %w", err)
	}
	s.Target = target
	s.Output.Folder = strings.TrimRight(s.Output.Folder, `/\`) + "-" + t.Name
	return nil
}

// tellMap prints the end of a run and what comes behind it. The text is made
// safe where it is made: it holds the colours of the terminal.
func tellMap(c *console, asJSON bool, r *habitat.Result, behind string) error {
	if asJSON {
		return c.document(mapSummary(r))
	}
	_, err := io.WriteString(c.out, r.TextOn(c.outScreen)+behind)
	return err
}

// mapped is the end of a run for a program.
type mapped struct {
	Folder   string          `json:"folder"`
	Files    []string        `json:"files"` // what to open first, best first
	Counts   habitat.Summary `json:"counts"`
	Warnings []string        `json:"warnings"`
	Cautions []caution       `json:"cautions"`
}

type caution struct {
	Key   string `json:"key"`
	Title string `json:"title"`
	Text  string `json:"text"`
}

func mapSummary(r *habitat.Result) mapped {
	m := mapped{Folder: r.Folder, Files: r.Files(), Counts: r.Summary, Warnings: append([]string{}, r.Summary.Warnings...)}
	for _, c := range habitat.Cautions(r.Profile) {
		m.Cautions = append(m.Cautions, caution{c.Key, c.Title, c.Text})
	}
	return m
}
