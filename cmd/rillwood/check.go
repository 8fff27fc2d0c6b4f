package main

import "rillwood/habitat"

type checkCmd struct {
	Survey string `arg:"" help:"Survey file." type:"path" complete:"yaml,yml"`
	JSON   bool   `name:"json" help:"Print the report as JSON."`
}

func (k *checkCmd) Run(c *console) error {
	report := habitat.CheckSurvey(c.ctx, k.Survey)
	if err := c.tell(k.JSON, report, report.Text()); err != nil {
		return err
	}
	if !report.OK {
		c.code = exitFail
	}
	return nil
}
