package habitat

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"rillwood/habitat/access"
	"rillwood/habitat/results"
	"rillwood/habitat/season"
	"rillwood/habitat/weather"
)

// Year says which candidates of a run serve which target, and when.
type Year struct {
	Format     string          `json:"format"`
	Caution    string          `json:"caution"`
	Run        string          `json:"run"`
	Name       string          `json:"name"` // of the survey
	Profile    string          `json:"profile"`
	Targets    []YearTarget    `json:"targets"`    // the run's own first
	Candidates []YearCandidate `json:"candidates"` // by rank
	Months     []YearMonth     `json:"months"`     // January first
	Notes      []string        `json:"notes"`
}

// YearTarget is one target of the year.
type YearTarget struct {
	Name       string     `json:"name"` // of the built-in or the user's file; of the run's own: that of the profile
	Common     string     `json:"common"`
	Scientific string     `json:"scientific"`
	Months     []int      `json:"months"`              // of its season, 1–12, in order
	GoodDays   []float64  `json:"good_days,omitempty"` // a month in mean years, January first, where weather is known
	Open       YearVisits `json:"open"`                // ground that is open, or open by permit
	Ask        YearVisits `json:"ask"`                 // ground whose owner is to be asked first
	rule       *season.Rule
	Cautions   []caution `json:"cautions"` // what sets it apart: look-alikes and what to do with finds
}

// caution is one warning of a target.
type caution struct {
	Title string `json:"title"`
	Text  string `json:"text"`
}

// YearCandidate is what one patch is worth to each target.
type YearCandidate struct {
	Rank   int       `json:"rank"`
	AreaHa float64   `json:"area_ha"`
	Access string    `json:"access"`
	Stream string    `json:"stream"`
	Finds  []float64 `json:"expected_finds"` // in the order of Targets
}

// YearVisits are the best patches for a target, most expected finds first.
type YearVisits struct {
	Ranks []int   `json:"ranks"`
	Finds float64 `json:"expected_finds"`
}

// YearMonth is what one month is good for.
type YearMonth struct {
	Month   int      `json:"month"`
	Targets []string `json:"targets"` // in season
}

const yearFormat = "rillwood-year-1"

// PlanYear weighs the candidates of a run for the targets named, built in or
// files, and lists the best for each. profile is the one the run was
// made with, "" as in Run.LoadProfile.
//
// Expected finds of another target are Σ trees × the share of them in the
// state it needs × its hit rate over the hosts, from the trees that the
// shortlist tells; where a patch holds more or fewer dead trees than the
// profile's shares say, because they were measured, all hosts scale alike.
func PlanYear(folder, profile string, targets []string, best int) (*Year, error) {
	opened, err := OpenRun(folder)
	if err != nil {
		return nil, err
	}
	p, err := opened.LoadProfile(profile)
	if err != nil {
		return nil, err
	}
	run, err := results.Open(folder)
	if err != nil {
		return nil, err
	}
	if len(run.Candidates) == 0 {
		return nil, fmt.Errorf("run %q: its shortlist is empty; lower shortlist.threshold or min_ha in the survey and make the map again", folder)
	}
	y := &Year{Format: yearFormat, Caution: safetyLine, Run: run.ID, Name: run.Name, Profile: p.Name, Notes: []string{}}
	y.add(p.Name, p)
	kinds := []*Profile{p}
	for _, name := range targets {
		t, err := LoadTarget(name)
		if err != nil {
			return nil, err
		}
		q, err := p.For(t)
		if err != nil {
			return nil, fmt.Errorf("%w; a map made for another target holds only the trees of that one", err)
		}
		y.add(t.Name, q)
		kinds = append(kinds, q)
	}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		row := YearCandidate{Rank: c.Rank, AreaHa: c.AreaHa, Access: c.Access, Stream: c.Stream, Finds: []float64{round(c.Finds, 3)}}
		for _, q := range kinds[1:] {
			row.Finds = append(row.Finds, round(findsFor(p, q, c), 3))
		}
		y.Candidates = append(y.Candidates, row)
	}
	y.choose(best)
	return y, nil
}

func (y *Year) add(name string, p *Profile) {
	t := YearTarget{Name: name, Common: p.Target.Common, Scientific: p.Target.Scientific, Months: p.Target.Months, rule: p.Season}
	for _, c := range Cautions(p) {
		if c.Key == "lookalike" || c.Key == "print" || !slices.Contains(commonKeys, c.Key) {
			t.Cautions = append(t.Cautions, caution{c.Title, c.Text})
		}
	}
	y.Targets = append(y.Targets, t)
}

// AddWeather says of every target how many days of each month lie in its
// windows in mean years, from a station's record. south tells that the station
// lies in the southern half of the earth.
func (y *Year) AddWeather(s *weather.Series, south bool) error {
	for i := range y.Targets {
		t := &y.Targets[i]
		if t.rule == nil {
			y.Notes = append(y.Notes, fmt.Sprintf("%s: no rule for good days (season:), so that only its months are told", t.Name))
			continue
		}
		o, err := season.Answer(season.Question{Series: s, Rule: t.rule, Target: t.Common, Profile: t.Name, South: south})
		if err != nil {
			return err
		}
		if o.Typical.Few {
			y.Notes = append(y.Notes, fmt.Sprintf("%s: %d whole seasons in the weather record are too few to say what is usual", t.Name, o.Typical.Seasons))
		}
		if south {
			t.Months = slices.Clone(t.Months)
			for k, m := range t.Months {
				t.Months[k] = (m+5)%12 + 1
			}
		}
		days := o.Typical.ByMonth()
		t.GoodDays = make([]float64, 12)
		for m, d := range days {
			t.GoodDays[m] = round(d, 1)
		}
	}
	y.byMonth()
	return nil
}

// findsFor is what a patch of profile p is worth to profile q of the same
// ground.
func findsFor(p, q *Profile, c *results.Candidate) float64 {
	trees := map[string]float64{}
	dead := 0.0
	for _, t := range c.Trees {
		trees[t.Host] = t.Expected
	}
	for i := range p.Hosts {
		dead += trees[p.Hosts[i].ID] * p.Hosts[i].DeadShare
	}
	measured := 1.0
	if dead > 0 && !math.IsNaN(c.DeadTrees) {
		measured = c.DeadTrees / dead
	}
	finds := 0.0
	for i := range q.Hosts {
		h := &q.Hosts[i]
		finds += trees[h.ID] * h.DeadShare * measured * h.HitRate.Hits / h.HitRate.Of
	}
	return finds
}

// choose lists for each target the best patches of those open or open by
// permit, and of those whose owner is to be asked; closed ones are in neither.
func (y *Year) choose(best int) {
	for k := range y.Targets {
		t := &y.Targets[k]
		t.Open = y.visits(k, best, access.Open.String(), access.Permit.String())
		t.Ask = y.visits(k, best, access.Private.String(), access.Unknown.String(), "")
	}
	y.byMonth()
}

func (y *Year) byMonth() {
	y.Months = nil
	for m := 1; m <= 12; m++ {
		month := YearMonth{Month: m, Targets: []string{}}
		for _, t := range y.Targets {
			if slices.Contains(t.Months, m) {
				month.Targets = append(month.Targets, t.Name)
			}
		}
		y.Months = append(y.Months, month)
	}
}

// visits are the best patches for target k among those of some statuses.
func (y *Year) visits(k, best int, statuses ...string) YearVisits {
	var order []*YearCandidate
	for i := range y.Candidates {
		if c := &y.Candidates[i]; slices.Contains(statuses, c.Access) && c.Finds[k] > 0 {
			order = append(order, c)
		}
	}
	slices.SortStableFunc(order, func(a, b *YearCandidate) int { return cmp.Compare(b.Finds[k], a.Finds[k]) })
	v := YearVisits{Ranks: []int{}}
	for _, c := range order[:min(best, len(order))] {
		v.Ranks = append(v.Ranks, c.Rank)
		v.Finds += c.Finds[k]
	}
	v.Finds = round(v.Finds, 3)
	return v
}
