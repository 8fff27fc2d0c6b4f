package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Reason says why a candidate moved: the attribute that moved it most, and
// the changes of inputs, settings or weights that can stand behind it.
//
// Score is mean suitability × chance of a find, suitability the geometric mean
// of bottomland and of what grows there. On logarithms the parts add up, so
// that each attribute has an effect of its own.
type Reason struct {
	Attribute string   `json:"attribute"` // one of the Attribute names, "" where nothing moved
	Effect    *float64 `json:"effect"`    // part of the change of ln score; nil where it is no such part
	Because   []string `json:"because"`   // plain names of the changes behind it
	Text      string   `json:"text"`
}

// What can move a candidate.
const (
	ByEvidence  = "evidence"    // bottomland, through layers of evidence
	ByTerrain   = "bottomland"  // bottomland, through ground and weights
	ByHosts     = "hosts"       // what grows there and how often it carries
	BySize      = "size"        // its area, and what the outline takes in
	ByAccess    = "access"      // who may enter: open ground is listed first
	ByKeepOut   = "keep-out"    // ground left out
	ByThreshold = "threshold"   // the suitability a patch needs
	ByLength    = "list length" // better ones fill the list
	ByOutline   = "outline"     // the ground went to another candidate
	ByArea      = "mapped area" // ground that only one run knows
	ByOthers    = "others"      // its own score holds, those of others moved
	ByWalk      = "walk"        // the way in; moves no rank
	ByUnknown   = "not known"
)

// bearersOf says which changes can move an attribute.
var bearersOf = map[string][]bearing{
	ByEvidence: {onEvidence}, ByTerrain: {onWeights, onTerrain}, ByHosts: {onHosts, onCover}, BySize: {onThreshold, onSize, onKeepOut},
	ByAccess: {onAccess}, ByKeepOut: {onKeepOut}, ByThreshold: {onThreshold}, ByLength: {onLength, onAccess}, ByOutline: {onSize, onThreshold, onKeepOut, onAccess},
	ByArea: {onArea, onTerrain}, ByWalk: {onWalk}, ByOthers: {onAccess},
}

type reasoner struct {
	a, b    *Run
	m       *matching
	ground  *grounds
	changes []Change
}

// behind names the changes that bear on an attribute.
func (r *reasoner) behind(attribute string) []string {
	out := []string{}
	for _, on := range bearersOf[attribute] {
		for _, c := range r.changes {
			if text := c.short(); c.bears == on && !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	// Without a change of how patches are cut, outlines follow the ground.
	if len(out) == 0 && (attribute == BySize || attribute == ByOutline) {
		for _, ground := range []string{ByTerrain, ByEvidence, ByHosts} {
			out = append(out, r.behind(ground)...)
		}
	}
	return out
}

func (r *reasoner) any(on ...bearing) bool {
	return slices.ContainsFunc(r.changes, func(c Change) bool { return slices.Contains(on, c.bears) })
}

// short is a change in a few words.
func (c *Change) short() string {
	switch {
	case c.Kind == "input" && c.Before == nil:
		return "new " + c.What
	case c.Kind == "input" && c.After == nil:
		return c.What + " left out"
	case c.Kind == "input":
		return "another " + c.What
	case c.Before == nil && !scalar(c.After):
		return c.What + ": new, " + shown(c.After)
	case c.After == nil && !scalar(c.Before):
		return c.What + ": left out, " + shown(c.Before)
	}
	return fmt.Sprintf("%s %s → %s", c.What, shown(c.Before), shown(c.After))
}

func scalar(v any) bool {
	switch v.(type) {
	case float64, bool:
		return true
	}
	return false
}

// reason puts attribute, effect and causes together.
func (r *reasoner) reason(attribute string, effect float64, text string) Reason {
	return r.reasonFrom(attribute, effect, text, r.behind(attribute))
}

const namedCauses = 3

func (r *reasoner) reasonFrom(attribute string, effect float64, text string, because []string) Reason {
	out := Reason{Attribute: attribute, Because: because, Text: text}
	if !math.IsNaN(effect) {
		e := tidy(effect, 4)
		out.Effect = &e
	}
	switch n := len(because); {
	case n > namedCauses:
		out.Text += "; behind it: " + strings.Join(because[:namedCauses], "; ") + fmt.Sprintf("; and %d more", n-namedCauses)
	case n > 0:
		out.Text += "; behind it: " + strings.Join(because, "; ")
	case attribute == ByOthers || attribute == "":
	case len(r.changes) == 0:
		out.Text += "; the records show no change"
	}
	return out
}

// terms are the parts of a change of ln score.
type terms struct {
	evidence, terrain, hosts, size float64
}

func (t terms) total() float64 { return t.evidence + t.terrain + t.hosts + t.size }

// greatest is the part that moved most.
func (t terms) greatest() (string, float64) {
	name, most := ByEvidence, t.evidence
	for _, p := range []struct {
		name string
		v    float64
	}{{ByTerrain, t.terrain}, {ByHosts, t.hosts}, {BySize, t.size}} {
		if math.Abs(p.v) > math.Abs(most) {
			name, most = p.name, p.v
		}
	}
	return name, most
}

// split takes the change of ln score of a pair apart. What the same ground is
// worth in both runs is told from what the outline takes in by the rasters
// under A's outline; without them all counts as of the same ground. What is
// not known adds nothing.
func (r *reasoner) split(i, j int) terms {
	var t terms
	x, y := &r.a.Candidates[i], &r.b.Candidates[j]
	gx, gy := r.ground.overA[0][i], r.ground.overA[1][i]
	over := func(layer string, otherwise float64) float64 {
		if v := math.Log(gy.at(layer) / gx.at(layer)); !math.IsNaN(v) && !math.IsInf(v, 0) {
			return v
		}
		return otherwise
	}
	whole := lnRatio(x.Suitability, y.Suitability)
	suit := over("suitability", whole)
	bottom := over("bottomland", lnRatio(x.Bottomland, y.Bottomland)) / 2 // geometric mean of two
	t.hosts, t.size = suit-bottom, whole-suit
	if x.Score != nil && y.Score != nil && *x.Score > 0 && *y.Score > 0 {
		chance := lnRatio(x.Score, y.Score) - whole
		// The chance follows the expected finds, area × finds per hectare, by
		// at most one percent for each percent.
		finds, area := lnRatio(x.Finds, y.Finds), lnRatio(x.AreaHa, y.AreaHa)
		follows := 0.0
		if math.Abs(finds) > 1e-6 {
			follows = max(0, min(1, chance/finds))
		}
		density := over("expected-finds", finds-area)
		t.size += follows * (finds - density)
		t.hosts += chance - follows*(finds-density)
	}
	// Hosts follow bottomland: where nothing changed about hosts themselves,
	// their part is bottomland's.
	if !r.any(onHosts, onCover) && r.any(onEvidence, onWeights, onTerrain) {
		bottom, t.hosts = bottom+t.hosts, 0
	}
	t.evidence, t.terrain = r.byEvidence(bottom, x, y, gx, gy)
	return t
}

// byEvidence parts what bottomland did between evidence and the rest, by how
// much of its log-odds evidence moved.
func (r *reasoner) byEvidence(bottom float64, x, y *Candidate, gx, gy ground) (evidence, rest float64) {
	if !r.any(onEvidence) {
		return 0, bottom
	}
	share := math.NaN()
	if _, ok := gx["bottomland"]; ok {
		share = evidenceShare(gx.at("bottomland"), gy.at("bottomland"), zeroed(gy.at("evidence"))-zeroed(gx.at("evidence")))
	}
	if math.IsNaN(share) {
		share = evidenceShare(value(x.Bottomland), value(y.Bottomland), value(y.Shift)-value(x.Shift))
	}
	if math.IsNaN(share) {
		share = 0
	}
	if !r.any(onWeights, onTerrain) {
		share = 1
	}
	return bottom * share, bottom * (1 - share)
}

// evidenceShare is the part of a change of bottomland's log-odds that a change
// of the shift accounts for, 0 to 1.
func evidenceShare(before, after, shift float64) float64 {
	if math.IsNaN(shift) || math.Abs(shift) < 1e-3 {
		if math.IsNaN(shift) {
			return math.NaN()
		}
		return 0
	}
	d := logit(after) - logit(before)
	if math.IsNaN(d) {
		return math.NaN()
	}
	if d*shift <= 0 {
		return 0
	}
	return min(1, shift/d)
}

func logit(p float64) float64 {
	p = max(1e-4, min(1-1e-4, p))
	return math.Log(p / (1 - p))
}

func value(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// lnRatio is ln(y/x), 0 where one of them is not a number above nought.
func lnRatio(x, y *float64) float64 {
	if x == nil || y == nil || *x <= 0 || *y <= 0 {
		return 0
	}
	return math.Log(*y / *x)
}
