package compare

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// weightTerm is one term of the bottomland sum: the field of its weight and
// what it is multiplied with.
type weightTerm struct {
	keys []string
	with func(g ground) float64
}

// termsOf lists the terms a run uses; those beside valley flatness differ.
func termsOf(r *Run) []weightTerm {
	one := func(ground) float64 { return 1 }
	layer := func(name string) func(ground) float64 { return func(g ground) float64 { return g.at(name) } }
	out := []weightTerm{
		{[]string{"weight_r", "value"}, layer("relative-height")}, {[]string{"weight_small", "value"}, layer("brook-height")},
		{[]string{"weight_distance", "value"}, layer("stream-distance")},
	}
	if !r.record.flatness() {
		return append(out, weightTerm{[]string{"intercept", "value"}, one}, weightTerm{[]string{"weight_slope", "value"}, layer("slope")})
	}
	least, _ := r.record.number("flatness", "least")
	most, ok := r.record.number("flatness", "most")
	return append(out, weightTerm{[]string{"flatness", "intercept", "value"}, one}, weightTerm{[]string{"flatness", "weight_slope", "value"}, layer("slope")},
		weightTerm{[]string{"flatness", "weight", "value"}, func(g ground) float64 {
			if !ok {
				return math.NaN()
			}
			return min(max(g.at("valley-flatness"), least), most)
		}})
}

// weighed puts what each changed weight does to the log-odds on the ground of
// a candidate (i of A, or j of B where i < 0) before the other causes, the
// greatest first. Weights the run does not use are left out.
func (r *reasoner) weighed(because []string, i, j int) []string {
	var x, y ground
	var own *Candidate
	if i >= 0 {
		x, y, own = r.ground.overA[0][i], r.ground.overA[1][i], &r.a.Candidates[i]
	} else {
		x, y, own = r.ground.overB[0][j], r.ground.overB[1][j], &r.b.Candidates[j]
	}
	if r.a.record.flatness() != r.b.record.flatness() {
		return because // the sums have other terms: no weight stands against another
	}
	type effect struct {
		text string
		size float64
	}
	var known []effect
	var rest []string
	for _, c := range r.changes {
		if c.bears != onWeights {
			continue
		}
		used, size := weightEffect(r, c.Field, x, y, own)
		switch {
		case !used:
			if !slices.Contains(unusedFields(r), c.Field) {
				rest = append(rest, c.short())
			}
		case math.IsNaN(size):
			rest = append(rest, c.short())
		default:
			known = append(known, effect{fmt.Sprintf("%s (%+.2f log-odds here)", c.short(), size), size})
		}
	}
	slices.SortStableFunc(known, func(p, q effect) int { return -cmp.Compare(math.Abs(p.size), math.Abs(q.size)) })
	var out []string
	for _, e := range known {
		out = append(out, e.text)
	}
	out = append(out, rest...)
	for _, c := range r.changes {
		if c.bears == onTerrain {
			out = append(out, c.short())
		}
	}
	return append([]string{}, out...)
}

// unusedFields are weights that the runs' sums do not hold.
func unusedFields(r *reasoner) []string {
	if r.a.record.flatness() {
		return []string{"profile.bottomland.intercept.value", "profile.bottomland.weight_slope.value"}
	}
	return []string{"profile.bottomland.flatness.intercept.value", "profile.bottomland.flatness.weight_slope.value", "profile.bottomland.flatness.weight.value",
		"profile.bottomland.flatness.least", "profile.bottomland.flatness.most"}
}

// weightEffect is what the change of one weight does to the log-odds: its
// difference times the term, taken half-way between the runs. NaN where the
// layer of the term was not written.
func weightEffect(r *reasoner, field string, x, y ground, own *Candidate) (used bool, size float64) {
	for _, t := range termsOf(r.a) {
		name := "profile.bottomland"
		for _, k := range t.keys {
			name += "." + k
		}
		if name != field {
			continue
		}
		before, _ := r.a.record.number(t.keys...)
		after, _ := r.b.record.number(t.keys...)
		return true, (after - before) * middle(t.with(x), t.with(y), slopeOf(name, own))
	}
	return false, 0
}

// slopeOf stands in for a slope layer: ln(1 + mean slope), which is hardly
// more than the mean of ln(1 + slope).
func slopeOf(field string, c *Candidate) float64 {
	if (field == "profile.bottomland.weight_slope.value" || field == "profile.bottomland.flatness.weight_slope.value") && c.SlopePct != nil {
		return math.Log1p(max(0, *c.SlopePct))
	}
	return math.NaN()
}

// middle is the mean of two values, or the one that is known, or the third.
func middle(x, y, otherwise float64) float64 {
	switch {
	case math.IsNaN(x) && math.IsNaN(y):
		return otherwise
	case math.IsNaN(x):
		return y
	case math.IsNaN(y):
		return x
	}
	return (x + y) / 2
}
