package habitat

import (
	"fmt"
	"slices"

	"rillwood/habitat/season"
)

// SeasonRule is the profile's rule for good days. Profiles written by earlier
// versions have none.
func (p *Profile) SeasonRule() (*season.Rule, error) {
	if p.Season == nil {
		return nil, fmt.Errorf("profile %s: has no section season:, so that it cannot say which days are good; copy that of the built-in profile (rillwood init writes it into a folder) into yours", p.Name)
	}
	return p.Season, nil
}

// checkSeason holds the rule against its ranges, and its months against those
// in which the target is looked for at all.
func (p *Profile) checkSeason() error {
	if p.Season == nil {
		return nil
	}
	if key, problem := p.Season.Check(); problem != "" {
		return wrong("season."+key, "%s", problem)
	}
	for _, m := range p.Season.Months {
		if !slices.Contains(p.Target.Months, m) {
			return wrong("season.months", "month %d is not among target.months, %v", m, p.Target.Months)
		}
	}
	return nil
}
