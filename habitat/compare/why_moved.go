package compare

import (
	"fmt"
	"math"
	"reflect"
)

// smallPart is a change of ln score that is not spoken of: half a percent.
const smallPart = 0.005

// moved says why a candidate on both lists rose, fell or stayed.
func (r *reasoner) moved(i, j int, s Status) Reason {
	x, y := &r.a.Candidates[i], &r.b.Candidates[j]
	t := r.split(i, j)
	if x.Access != y.Access {
		return r.reason(ByAccess, math.NaN(), fmt.Sprintf("access %s → %s", orUnknown(x.Access), orUnknown(y.Access)))
	}
	name, most := t.greatest()
	total := t.total()
	switch {
	case math.Abs(most) < smallPart && s == Stayed:
		return r.held(x, y)
	case math.Abs(most) < smallPart:
		return r.reason(ByOthers, math.NaN(), "its own score hardly moved; "+others(s))
	case s == Rose && total <= 0 || s == Fell && total >= 0:
		return r.reason(ByOthers, math.NaN(), fmt.Sprintf("its score went %s → %s, yet %s", number(x.Score, 3), number(y.Score, 3), others(s)))
	}
	because := r.behind(name)
	if name == ByTerrain {
		because = r.weighed(because, i, j)
	}
	return r.reasonFrom(name, most, partWords(name, x, y, r.ground.overA[0][i], r.ground.overA[1][i]), because)
}

// held speaks of a candidate that kept its rank and its score.
func (r *reasoner) held(x, y *Candidate) Reason {
	if a, b := value(x.WalkM), value(y.WalkM); math.Abs(a-b) >= 1 || math.IsNaN(a) != math.IsNaN(b) {
		return r.reason(ByWalk, math.NaN(), fmt.Sprintf("walk %s → %s m", number(x.WalkM, 0), number(y.WalkM, 0)))
	}
	switch {
	case reflect.DeepEqual(*x, *y):
		return Reason{Because: []string{}, Text: "as it was"}
	case reflect.DeepEqual(x.shape, y.shape):
		return Reason{Because: []string{}, Text: "hardly changed"}
	}
	return Reason{Because: []string{}, Text: "about as good as it was, with another outline"}
}

func others(s Status) string {
	if s == Rose {
		return "others above it fell back or left"
	}
	return "others went past it"
}

// partWords say what moved, over A's outline in both runs where the rasters
// tell, else over the outlines as they are.
func partWords(name string, x, y *Candidate, gx, gy ground) string {
	from := func(layer string, a, b *float64, decimals int) string {
		p, q := gx.at(layer), gy.at(layer)
		if math.IsNaN(p) || math.IsNaN(q) {
			return number(a, decimals) + " → " + number(b, decimals)
		}
		return number(&p, decimals) + " → " + number(&q, decimals)
	}
	bottom, suit := "bottomland "+from("bottomland", x.Bottomland, y.Bottomland, 2), "suitability "+from("suitability", x.Suitability, y.Suitability, 2)
	switch name {
	case ByEvidence:
		return fmt.Sprintf("%s, moved by evidence (log-odds %s)", bottom, from("evidence", x.Shift, y.Shift, 1))
	case ByTerrain:
		return bottom + ", " + suit
	case BySize:
		return fmt.Sprintf("its outline takes in other ground: area %s → %s ha, suitability %s → %s", number(x.AreaHa, 1), number(y.AreaHa, 1), number(x.Suitability, 3), number(y.Suitability, 3))
	}
	return fmt.Sprintf("what grows there: %s, expected finds per ha %s → %s", suit, perHa(x), perHa(y))
}

func perHa(c *Candidate) string {
	v := value(c.Finds) / value(c.AreaHa)
	if c.Finds == nil || c.AreaHa == nil || math.IsInf(v, 0) {
		v = math.NaN()
	}
	return number(&v, 2)
}

func orUnknown(s string) string {
	if s == "" {
		return "not told"
	}
	return s
}

// number shows a figure, "-" where it is not known.
func number(v *float64, decimals int) string {
	if v == nil || math.IsNaN(*v) {
		return "-"
	}
	return fmt.Sprintf("%.*f", decimals, tidy(*v, decimals)+0)
}
