package main

import (
	"errors"
	"fmt"

	"rillwood/habitat"
)

type effortCmd struct {
	Rate       string  `help:"Share of dead or dying trees that carry it: a count such as 3/40, 0.075 or 7.5%." placeholder:"RATE"`
	Weight     float64 `help:"How many trees a --rate is believed as if seen; a count is its own weight." placeholder:"TREES"`
	Host       string  `help:"Take the rate of this host from the profile; its first host unless told." placeholder:"ID" complete:"host"`
	Profile    string  `help:"Profile to take it from, built in or a file (default: ${profile})." placeholder:"NAME" complete:"profile"`
	Confidence string  `help:"Wanted chance of one find, and how sure every interval is." default:"95%" placeholder:"CHANCE"`
	Checked    *int    `help:"Trees looked at already, in season." placeholder:"N" and:"seen" xor:"looked"`
	Found      *int    `help:"Those of them that carried it." placeholder:"X" and:"seen"`
	None       *int    `help:"Trees looked at without a find: what do they tell?" placeholder:"N" xor:"looked"`
	JSON       bool    `name:"json" help:"Print the answer as JSON."`
}

func (e *effortCmd) Run(c *console) error {
	belief, err := e.belief()
	if err != nil {
		return err
	}
	q := habitat.EffortQuestion{Belief: belief}
	if q.Confidence, err = habitat.ParseChance(e.Confidence); err != nil {
		return fmt.Errorf("--confidence: %w", err)
	}
	looked := ""
	switch {
	case e.None != nil:
		looked, q.Checked = "--none", *e.None
	case e.Checked != nil:
		looked, q.Checked, q.Found = "--checked", *e.Checked, *e.Found
		if !belief.Doubtful() {
			return fmt.Errorf("--checked: the rate %q does not say how sure it is, so nothing can be learned from trees; give it as a count such as 3/40, or add --weight 20", e.Rate)
		}
	}
	if looked != "" && q.Checked == 0 {
		return fmt.Errorf("%s: expected at least 1 tree, found 0; leave it out to plan a first visit", looked)
	}
	answer, err := habitat.AnswerEffort(q)
	if err != nil {
		return fmt.Errorf("%s: %w", looked, err)
	}
	return c.tell(e.JSON, answer, answer.Text())
}

// belief is the rate asked about.
func (e *effortCmd) belief() (habitat.HitBelief, error) {
	if e.Rate != "" {
		if e.Host != "" || e.Profile != "" {
			return habitat.HitBelief{}, errors.New("--rate: a rate of your own and one from a profile; leave out --rate, or --host and --profile")
		}
		b, err := habitat.BeliefOfRate(e.Rate, e.Weight)
		if err != nil {
			return b, fmt.Errorf("--rate: %w", err)
		}
		return b, nil
	}
	if e.Weight != 0 {
		return habitat.HitBelief{}, errors.New("--weight: goes with a --rate of your own; a host has its weight in the profile")
	}
	name := e.Profile
	if name == "" {
		name = habitat.DefaultProfile
	}
	p, err := habitat.LoadProfile(name)
	if err != nil {
		return habitat.HitBelief{}, err
	}
	b, err := habitat.BeliefOfHost(p, e.Host)
	if err != nil {
		return b, fmt.Errorf("--host: %w", err)
	}
	return b, nil
}
