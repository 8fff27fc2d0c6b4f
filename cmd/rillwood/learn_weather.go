package main

import (
	"errors"
	"fmt"

	"rillwood/habitat"
	"rillwood/habitat/field"
	"rillwood/habitat/season"
)

// seasonJudge reads the weather before anything is learned, so that what is
// wrong with it costs no fit, and gives what holds the profile's rule for good
// days against records; that gives nil where no weather was named.
func (l *learnCmd) seasonJudge(c *console, p *habitat.Profile) (func([]field.Record) (*season.Score, error), error) {
	if l.Weather == "" {
		if l.weatherFlags != (weatherFlags{SnowTimes: 1}) {
			return nil, errors.New("--units, --snow-times and --south: of a weather record; name it with --weather")
		}
		return func([]field.Record) (*season.Score, error) { return nil, nil }, nil
	}
	rule, err := p.SeasonRule()
	if err != nil {
		return nil, err
	}
	series, err := l.read(l.Weather)
	if err != nil {
		return nil, err
	}
	for _, w := range series.Account.Warnings {
		c.say("warning", "%s: %s", l.Weather, w)
	}
	o, err := season.Answer(season.Question{Series: series, Rule: rule, South: l.South})
	if err != nil {
		return nil, err
	}
	return func(recs []field.Record) (*season.Score, error) {
		score, err := o.ScoreVisits(habitat.VisitsOf(recs, l.Unconfirmed))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", l.Store, err)
		}
		return score, nil
	}, nil
}
