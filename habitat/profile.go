package habitat

import (
	"bytes"
	"embed"
	"fmt"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"

	"rillwood/habitat/season"
)

// Profile holds every figure of the judgement: what is looked for, on which
// trees, where those stand, and how it all adds up. Nothing of this is in
// code. Each part has room for the source of its figures.
type Profile struct {
	Name        string      `yaml:"name"`
	Title       string      `yaml:"title"`
	Region      string      `yaml:"region"`
	Provenance  []string    `yaml:"provenance"` // how this file came about, oldest first
	Target      Target      `yaml:"target"`
	Help        Help        `yaml:"help"`
	Curve       string      `yaml:"curve"` // default of Curves
	Curves      []Bankfull  `yaml:"curves"`
	OrderArea   OrderArea   `yaml:"order_area"`
	Bottomland  Bottomland  `yaml:"bottomland"`
	Suitability Suitability `yaml:"suitability"`
	Cover       CoverTable  `yaml:"cover"`      // chance of trees by cover group, for hosts that do not say otherwise
	DensityCV   float64     `yaml:"density_cv"` // coefficient of variation of a patch's true tree density about the expected one; 0: see TreeInterval
	Hosts       []Host      `yaml:"hosts"`
	// Season is the rule for good days; nil in profiles of earlier versions.
	Season *season.Rule `yaml:"season,omitempty"`
	// RateByBottomland is how the log-odds of a hit rate change with those of
	// bottomland; the rates of the hosts hold where these are rateLogit.
	RateByBottomland Weight     `yaml:"rate_by_bottomland,omitempty"`
	Posterior        *Posterior `yaml:"posterior,omitempty"` // of learned weights
}

// Target is what the survey looks for.
type Target struct {
	Common     string `yaml:"common"`
	Scientific string `yaml:"scientific"`
	Months     []int  `yaml:"months,flow"` // months of the season, 1–12, in order
	Source     string `yaml:"source"`
}

// Help holds the numbers to call after a wrong meal.
type Help struct {
	PoisonLine string `yaml:"poison_line"`
	Emergency  string `yaml:"emergency"`
	Where      string `yaml:"where"` // where these numbers are good
	Source     string `yaml:"source"`
}

// Suitability says how bottomland and hosts make one index from 0 to 1.
type Suitability struct {
	Threshold        float64 `yaml:"threshold"`         // a cell at or above it may join a patch
	WeightBottomland float64 `yaml:"weight_bottomland"` // exponents of the geometric mean
	WeightHosts      float64 `yaml:"weight_hosts"`
	LimitingGain     float64 `yaml:"limiting_gain"` // a factor limits when mending it would add at least this
	Source           string  `yaml:"source"`
}

// Host is one kind of tree the target grows on once it is dead or dying.
type Host struct {
	ID         string            `yaml:"id"`
	Common     string            `yaml:"common"`
	Scientific string            `yaml:"scientific"`
	Kin        string            `yaml:"kin"`              // hosts that share what is learned about hit rates: elm, poplar, ash …
	FIA        int               `yaml:"fia"`              // species code of the US forest inventory
	Wetland    map[string]string `yaml:"wetland"`          // status by region: EMP, MW, NCNE
	Winter     string            `yaml:"winter,omitempty"` // what to know it by without leaves, one clause; may be empty
	DensityHa  float64           `yaml:"density_ha"`
	DeadShare  float64           `yaml:"dead_share"` // dead or dying among them
	HitRate    HitRate           `yaml:"hit_rate"`
	Bottomland Curve             `yaml:"bottomland,flow"`          // share of DensityHa by bottomland probability
	Elevation  Curve             `yaml:"elevation,flow,omitempty"` // extra multiplier by metres above sea level; none: 1
	Cover      CoverTable        `yaml:"cover,omitempty"`          // where it differs from Profile.Cover
	Source     string            `yaml:"source"`
}

// HitRate is the prior chance that one dead or dying tree carries the
// target in season: Hits of Of trees, believed as if Weight trees had been
// looked at.
type HitRate struct {
	Hits   float64 `yaml:"hits"`
	Of     float64 `yaml:"of"`
	Weight float64 `yaml:"weight"`
	Source string  `yaml:"source"`
}

// Beta is the prior as a Beta distribution with mean Hits/Of.
func (r HitRate) Beta() Beta {
	p := r.Hits / r.Of
	return Beta{A: r.Weight * p, B: r.Weight * (1 - p)}
}

// CoverTable gives a number from 0 to 1 for each cover group.
type CoverTable map[CoverGroup]float64

//go:embed data/profile-*.yaml
var profileFiles embed.FS

// ProfileNames lists the built-in profiles in alphabetical order.
func ProfileNames() []string {
	entries, err := profileFiles.ReadDir("data")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(strings.TrimPrefix(e.Name(), "profile-"), ".yaml"))
	}
	slices.Sort(names)
	return names
}

// LoadProfile reads a built-in profile by name or a profile file by path.
// A built-in profile given by name is never looked for on disk.
func LoadProfile(nameOrPath string) (*Profile, error) {
	if !isPath(nameOrPath) {
		data, err := BuiltinProfile(nameOrPath)
		if err != nil {
			return nil, err
		}
		return ParseProfile("built-in profile "+nameOrPath, data)
	}
	data, err := readLimited(nameOrPath)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return ParseProfile(nameOrPath, data)
}

// BuiltinProfile is the text of a built-in profile, comments and all: a good
// start for one of your own.
func BuiltinProfile(name string) ([]byte, error) {
	if !slices.Contains(ProfileNames(), name) {
		return nil, fmt.Errorf("profile: %q is not built in; %s; a file of your own needs its .yaml ending", oneLine(name), suggest(name, ProfileNames()))
	}
	return profileFiles.ReadFile(path.Join("data", "profile-"+name+".yaml"))
}

// ParseProfile reads a profile from memory; file is used in messages only.
// There are no defaults: a profile is complete or refused.
func ParseProfile(file string, data []byte) (*Profile, error) {
	doc, err := parseDocument(file, data)
	if err != nil {
		return nil, err
	}
	p := &Profile{}
	if err := doc.decode(p); err != nil {
		return nil, err
	}
	if err := p.Validate(); err != nil {
		return nil, doc.locate(err)
	}
	return p, nil
}

// Encode gives the profile as YAML that ParseProfile reads back to an equal
// profile. Sources and provenance are kept; comments are not.
func (p *Profile) Encode() ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("# Profile. Every figure here may be changed; say where yours comes from.\n")
	if err := yaml.NewEncoder(&b, yaml.IndentSequence(true)).Encode(p); err != nil {
		return nil, fmt.Errorf("profile %s: %w", p.Name, err)
	}
	return b.Bytes(), nil
}

// Write saves the profile as a new file. An existing file is left alone and
// refused, since old profiles are the record of what was believed before.
func (p *Profile) Write(file string) error {
	data, err := p.Encode()
	if err != nil {
		return err
	}
	if _, err := os.Lstat(file); err == nil {
		return fmt.Errorf("profile %s: there already; choose another name", file)
	}
	temp, err := os.CreateTemp(filepath.Dir(file), ".profile-*")
	if err != nil {
		return fmt.Errorf("profile %s: %w", file, err)
	}
	defer os.Remove(temp.Name())
	_, err = temp.Write(data)
	if err == nil {
		err = temp.Sync()
	}
	if cerr := temp.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Chmod(temp.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(temp.Name(), file)
	}
	if err != nil {
		return fmt.Errorf("profile %s: %w", file, err)
	}
	return nil
}

// Host finds a host by its id.
func (p *Profile) Host(id string) (Host, bool) {
	for _, h := range p.Hosts {
		if h.ID == id {
			return h, true
		}
	}
	return Host{}, false
}

// InSeason tells whether a month (1–12) is in the target's season.
func (p *Profile) InSeason(month int) bool { return slices.Contains(p.Target.Months, month) }

// CoverOf is the host's response to a cover group: its own where it has one,
// the profile's otherwise.
func (p *Profile) CoverOf(h Host, g CoverGroup) float64 {
	if v, ok := h.Cover[g]; ok {
		return v
	}
	return p.Cover[g]
}
