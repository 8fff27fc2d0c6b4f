package main

import (
	"fmt"
	"runtime/debug"

	"rillwood/habitat"
)

type yearCmd struct {
	Folder  string   `arg:"" name:"run" help:"Folder a map was written into." type:"path" complete:"folder"`
	Targets []string `name:"target" help:"Targets beside the run's own, built in or files; all built-in ones unless told." placeholder:"NAME" complete:"target"`
	Profile string   `help:"Profile the map was made with, where it is not built in." complete:"profile" placeholder:"FILE"`
	Best    int      `help:"Patches to name for each month and target." default:"5" placeholder:"N"`
	Weather string   `help:"Daily record of a weather station: how many good days each month has in mean years." type:"path" placeholder:"FILE" complete:"csv,dly,gz"`
	weatherFlags
	All  bool `help:"Show every candidate."`
	JSON bool `name:"json" help:"Print the year as JSON."`
}

func (y *yearCmd) Run(c *console) error {
	if y.Best < 1 {
		return fmt.Errorf("--best: expected a number of patches from 1 on, found %d", y.Best)
	}
	if len(y.Targets) == 0 {
		y.Targets = habitat.TargetNames()
	}
	year, err := habitat.PlanYear(y.Folder, y.Profile, y.Targets, y.Best)
	if err != nil {
		return err
	}
	if y.Weather != "" {
		debug.SetGCPercent(100) // texts are many small things: see main
		series, err := y.read(y.Weather)
		if err != nil {
			return err
		}
		if err := year.AddWeather(series, y.South); err != nil {
			return err
		}
	}
	rows := 10
	if y.All {
		rows = 0
	}
	return c.tell(y.JSON, year, year.Text(rows))
}
