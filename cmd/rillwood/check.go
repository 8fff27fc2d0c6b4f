package main

import (
	"encoding/json"
	"fmt"

	"rillwood/habitat"
)

type checkCmd struct {
	Survey string `arg:"" help:"Survey file." type:"path"`
	JSON   bool   `name:"json" help:"Print the report as JSON."`
}

func (k *checkCmd) Run(c *console) error {
	report := habitat.CheckSurvey(c.ctx, k.Survey)
	if k.JSON {
		e := json.NewEncoder(c.out)
		e.SetIndent("", "  ")
		if err := e.Encode(report); err != nil {
			return err
		}
	} else {
		fmt.Fprint(c.out, report.Text())
	}
	if !report.OK {
		c.code = exitFail
	}
	return nil
}
