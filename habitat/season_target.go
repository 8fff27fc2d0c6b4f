package habitat

import (
	"embed"
	"fmt"
	"path"
	"slices"
	"strings"

	"rillwood/habitat/season"
)

// SeasonTarget is another target of the same ground: what is looked for and
// when, what may be taken for it, and what the trees of a profile are worth to
// it. Where trees stand, and on what ground, stays the profile's.
type SeasonTarget struct {
	Name        string       `yaml:"name"`
	Title       string       `yaml:"title"`
	Target      Target       `yaml:"target"`
	Lookalikes  *Lookalikes  `yaml:"lookalikes"`
	OwnCautions []OwnCaution `yaml:"cautions"`
	Season      *season.Rule `yaml:"season"` // nil: nothing is said of single days
	Hosts       []TargetHost `yaml:"hosts"`  // only these count

	file string
}

// TargetHost is what one host of the ground is worth to a target.
type TargetHost struct {
	ID        string   `yaml:"id"`
	DeadShare *float64 `yaml:"dead_share"` // trees in the state the target needs; nil: the profile's dead or dying
	HitRate   HitRate  `yaml:"hit_rate"`
	Source    string   `yaml:"source"`
}

//go:embed data/target-*.yaml
var targetFiles embed.FS

// TargetNames lists the built-in targets in alphabetical order.
func TargetNames() []string {
	entries, err := targetFiles.ReadDir("data")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(strings.TrimPrefix(e.Name(), "target-"), ".yaml"))
	}
	slices.Sort(names)
	return names
}

// LoadTarget reads a built-in target by name or a target file by path.
func LoadTarget(nameOrPath string) (*SeasonTarget, error) {
	if isPath(nameOrPath) {
		data, err := readLimited(nameOrPath)
		if err != nil {
			return nil, fmt.Errorf("target: %w", err)
		}
		return ParseTarget(nameOrPath, data)
	}
	if !slices.Contains(TargetNames(), nameOrPath) {
		return nil, fmt.Errorf("target: %q is not built in; %s; a file of your own needs its .yaml ending", oneLine(nameOrPath), suggest(nameOrPath, TargetNames()))
	}
	data, err := targetFiles.ReadFile(path.Join("data", "target-"+nameOrPath+".yaml"))
	if err != nil {
		return nil, err
	}
	return ParseTarget("built-in target "+nameOrPath, data)
}

// ParseTarget reads a target from memory; file is used in messages only.
func ParseTarget(file string, data []byte) (*SeasonTarget, error) {
	doc, err := parseDocument(file, data)
	if err != nil {
		return nil, err
	}
	t := &SeasonTarget{file: file}
	if err := doc.decode(t); err != nil {
		return nil, err
	}
	if err := t.Validate(); err != nil {
		return nil, doc.locate(err)
	}
	return t, nil
}

// Validate checks every figure; the first mistake found is returned.
func (t *SeasonTarget) Validate() error {
	if err := checkName("name", t.Name); err != nil {
		return err
	}
	if t.Lookalikes == nil {
		return wrong("lookalikes", "missing; say with title, text and check what may be taken for the target and how to tell")
	}
	// Names, months and warnings are held to the rules of a profile.
	p := Profile{Target: t.Target, Lookalikes: t.Lookalikes, OwnCautions: t.OwnCautions, Season: t.Season, Help: Help{PoisonLine: "-", Emergency: "-"}}
	if err := p.checkTarget(); err != nil {
		return err
	}
	if err := p.checkSeason(); err != nil {
		return err
	}
	if len(t.Hosts) == 0 {
		return wrong("hosts", "missing; at least one host is needed")
	}
	for i, h := range t.Hosts {
		at := fmt.Sprintf("hosts[%d]", i)
		if err := checkName(at+".id", h.ID); err != nil {
			return err
		}
		if slices.ContainsFunc(t.Hosts[:i], func(o TargetHost) bool { return o.ID == h.ID }) {
			return wrong(at+".id", "a host called %s is there already", h.ID)
		}
		if h.DeadShare != nil {
			if err := within(at+".dead_share", *h.DeadShare, 0, 1, ""); err != nil {
				return err
			}
		}
		if err := h.HitRate.check(at + ".hit_rate"); err != nil {
			return err
		}
	}
	return nil
}

// For gives the profile with another target: its season, its warnings, and its
// hosts with what they are worth to it. What was learned of the first target's
// hit rates does not carry over; what was learned of the ground does.
func (p *Profile) For(t *SeasonTarget) (*Profile, error) {
	q := cloneProfile(p)
	q.Name = joinedName(p.Name, t.Name)
	q.Title = t.Title
	q.Target, q.Lookalikes, q.OwnCautions, q.Season = t.Target, t.Lookalikes, t.OwnCautions, t.Season
	q.Provenance = append(q.Provenance, fmt.Sprintf("%q with the target %q", p.Name, t.Name))
	q.Hosts = nil
	for i, th := range t.Hosts {
		k := slices.IndexFunc(p.Hosts, func(h Host) bool { return h.ID == th.ID })
		if k < 0 {
			return nil, fmt.Errorf("%s: hosts[%d].id: the profile %q has no host %q; add it there, with its density and where it stands", t.file, i, p.Name, th.ID)
		}
		h := p.Hosts[k]
		h.HitRate = th.HitRate
		if th.DeadShare != nil {
			if h.DeadShare > 0 {
				h.OfDead = min(1, *th.DeadShare/h.DeadShare)
			}
			h.DeadShare = *th.DeadShare
		}
		if th.Source != "" {
			h.Source = strings.TrimPrefix(h.Source+"; "+th.Source, "; ")
		}
		q.Hosts = append(q.Hosts, h)
	}
	if p.RateByBottomland != (Weight{}) {
		q.RateByBottomland = Weight{Value: 0, SD: p.RateByBottomland.SD, Source: "no difference until records of this target say so"}
	}
	if err := q.Validate(); err != nil {
		return nil, fmt.Errorf("profile %q with target %q: %w", p.Name, t.Name, err)
	}
	return q, nil
}

// joinedName is a profile's name with a target's, within what a name may be.
func joinedName(profile, target string) string {
	const most = 40
	room := most - len(target) - 1
	if room < 1 {
		return target
	}
	return strings.TrimRight(profile[:min(len(profile), room)], "-") + "-" + target
}
