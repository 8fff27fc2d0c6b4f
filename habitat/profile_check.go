package habitat

import (
	"fmt"
	"regexp"
	"slices"
	"sort"
	"strings"
	"unicode/utf8"
)

var (
	profileName = regexp.MustCompile(`^[a-z][a-z0-9-]{0,39}$`)
	wetStatus   = []string{"OBL", "FACW", "FAC", "FACU", "UPL"}
	wetRegions  = []string{"EMP", "MW", "NCNE"}
)

// Validate checks every figure of the profile: ranges, shapes of curves,
// names that occur twice, cover groups that do not exist. The first mistake
// found is returned.
func (p *Profile) Validate() error {
	if err := checkName("name", p.Name); err != nil {
		return err
	}
	if err := p.checkTarget(); err != nil {
		return err
	}
	if err := p.checkSeason(); err != nil {
		return err
	}
	if err := p.checkCurves(); err != nil {
		return err
	}
	if err := p.OrderArea.check("order_area"); err != nil {
		return err
	}
	if err := p.Bottomland.check("bottomland"); err != nil {
		return err
	}
	if err := p.checkSuitability(); err != nil {
		return err
	}
	for _, g := range CoverGroups() {
		if _, ok := p.Cover[g]; !ok {
			return wrong("cover", "the cover group %s is missing", g)
		}
	}
	if err := p.Cover.check("cover"); err != nil {
		return err
	}
	if p.RateByBottomland != (Weight{}) {
		if err := p.RateByBottomland.check("rate_by_bottomland", -3, 3); err != nil {
			return err
		}
	}
	if err := p.Posterior.check("posterior"); err != nil {
		return err
	}
	if err := within("density_cv", p.DensityCV, 0, 3, ""); err != nil {
		return err
	}
	return p.checkHosts()
}

func checkName(path, name string) error {
	if !profileName.MatchString(name) {
		return wrong(path, "expected a short name of small letters, digits and dashes, found %q", oneLine(name))
	}
	return nil
}

func (p *Profile) checkTarget() error {
	t := p.Target
	for _, f := range []struct{ path, text string }{
		{"target.common", t.Common}, {"target.scientific", t.Scientific},
		{"help.poison_line", p.Help.PoisonLine}, {"help.emergency", p.Help.Emergency},
	} {
		if strings.TrimSpace(f.text) == "" {
			return wrong(f.path, "missing")
		}
	}
	if len(t.Months) == 0 {
		return wrong("target.months", "missing; list the months of the season as numbers, such as [11, 12, 1]")
	}
	for i, m := range t.Months {
		if m < 1 || m > 12 {
			return wrong("target.months", "expected months from 1 to 12, found %d", m)
		}
		if slices.Contains(t.Months[:i], m) {
			return wrong("target.months", "month %d is listed twice", m)
		}
	}
	return nil
}

func (p *Profile) checkCurves() error {
	var names []string
	for i, c := range p.Curves {
		path := fmt.Sprintf("curves[%d]", i)
		if err := checkName(path+".name", c.Name); err != nil {
			return err
		}
		if slices.Contains(names, c.Name) {
			return wrong(path+".name", "a curve called %s is there already", c.Name)
		}
		names = append(names, c.Name)
		if err := oneOf(path+".units", c.Units, curveUnitsSI, curveUnitsFeet); err != nil {
			return err
		}
		if err := within(path+".a", c.A, 0.01, 20, ""); err != nil {
			return err
		}
		if err := within(path+".b", c.B, 0, 1, ""); err != nil {
			return err
		}
		if c.Sites < 0 {
			return wrong(path+".sites", "expected a count, found %d", c.Sites)
		}
		if r := c.Range; len(r) != 0 && (len(r) != 2 || r[0] < 0 || r[1] <= r[0]) {
			return wrong(path+".range", "expected the smallest and the largest area, found %v", r)
		}
	}
	if len(names) == 0 {
		return wrong("curves", "missing; at least one bankfull curve is needed")
	}
	return oneOf("curve", p.Curve, names...)
}

func (p *Profile) checkSuitability() error {
	s := p.Suitability
	if err := within("suitability.threshold", s.Threshold, 0.01, 1, ""); err != nil {
		return err
	}
	if err := within("suitability.weight_bottomland", s.WeightBottomland, 0.01, 100, ""); err != nil {
		return err
	}
	if err := within("suitability.weight_hosts", s.WeightHosts, 0.01, 100, ""); err != nil {
		return err
	}
	return within("suitability.limiting_gain", s.LimitingGain, 0.001, 1, "")
}

func (t CoverTable) check(path string) error {
	groups := make([]string, 0, len(t))
	for g := range t {
		groups = append(groups, string(g))
	}
	sort.Strings(groups)
	for _, g := range groups {
		if err := oneOf(path+"."+g, g, groupNames()...); err != nil {
			return err
		}
		if err := within(path+"."+g, t[CoverGroup(g)], 0, 1, ""); err != nil {
			return err
		}
	}
	return nil
}

func (p *Profile) checkHosts() error {
	if len(p.Hosts) == 0 {
		return wrong("hosts", "missing; at least one host is needed")
	}
	if len(p.Hosts) > maxHosts {
		return wrong("hosts", "%d hosts, more than the %d allowed", len(p.Hosts), maxHosts)
	}
	for i, h := range p.Hosts {
		path := fmt.Sprintf("hosts[%d]", i)
		for _, other := range p.Hosts[:i] {
			if other.ID == h.ID {
				return wrong(path+".id", "a host called %s is there already", h.ID)
			}
			if other.FIA == h.FIA && h.FIA != 0 {
				return wrong(path+".fia", "code %d is that of %s already", h.FIA, other.ID)
			}
		}
		if err := h.check(path); err != nil {
			return err
		}
	}
	return nil
}

func (h Host) check(path string) error {
	if err := checkName(path+".id", h.ID); err != nil {
		return err
	}
	if err := checkName(path+".kin", h.Kin); err != nil {
		return err
	}
	if h.Common == "" || h.Scientific == "" {
		return wrong(path, "%s needs both a common and a scientific name", h.ID)
	}
	if h.FIA < 0 || h.FIA > 9999 {
		return wrong(path+".fia", "expected a species code up to 9999, or 0 for none, found %d", h.FIA)
	}
	regions := make([]string, 0, len(h.Wetland))
	for r := range h.Wetland {
		regions = append(regions, r)
	}
	sort.Strings(regions)
	for _, r := range regions {
		if err := oneOf(path+".wetland."+r, r, wetRegions...); err != nil {
			return err
		}
		if err := oneOf(path+".wetland."+r, h.Wetland[r], wetStatus...); err != nil {
			return err
		}
	}
	if err := checkWinter(path+".winter", h.Winter); err != nil {
		return err
	}
	if err := within(path+".density_ha", h.DensityHa, 0, 5000, "trees per hectare"); err != nil {
		return err
	}
	if err := within(path+".dead_share", h.DeadShare, 0, 1, ""); err != nil {
		return err
	}
	if err := h.HitRate.check(path + ".hit_rate"); err != nil {
		return err
	}
	if err := h.Bottomland.check(path+".bottomland", 0, 1); err != nil {
		return err
	}
	if len(h.Elevation) > 0 {
		if err := h.Elevation.check(path+".elevation", -500, 9000); err != nil {
			return err
		}
	}
	return h.Cover.check(path + ".cover")
}

// checkWinter holds the clause to what fits into a sentence of Why.
func checkWinter(path, clause string) error {
	if n := utf8.RuneCountInString(clause); n > maxWinter {
		return wrong(path, "expected one clause of at most %d characters, found %d", maxWinter, n)
	}
	if clause != plainClause(clause) {
		return wrong(path, "expected one clause with neither full stop nor semicolon, found %q", oneLine(clause))
	}
	return nil
}

func (r HitRate) check(path string) error {
	if err := within(path+".of", r.Of, 1, 1e6, "trees"); err != nil {
		return err
	}
	if !(r.Hits > 0 && r.Hits < r.Of) {
		return wrong(path+".hits", "expected more than 0 and fewer than %g trees, found %g; for a tree never seen to carry write 0.5", r.Of, r.Hits)
	}
	return within(path+".weight", r.Weight, 0.1, 1e6, "trees")
}
