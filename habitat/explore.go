package habitat

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"rillwood/habitat/access"
)

const (
	exploreMost  = 2000 // patches looked at for visits that teach, the best first
	exploreStops = 5    // stops of a visit that tell whether elms stand there; common practice, no source
)

// explore keeps places on a shortlist for visits that would teach most about
// the weights of bottomland: one after another the patch that adds most
// information, ½·ln(1 + n·p·(1−p)·tᵀCt) for n stops with chance p of a bottomland host
// (D-optimal design for a logistic model), the covariance C lessened by the
// visits before. Closed ground is left out. The patches come after the best
// ones and are marked; where the list has room for every patch, they are chosen
// among all but the ten best.
func (m *surveyor) explore(ctx context.Context, all []Candidate, spec ShortlistSpec) ([]Candidate, error) {
	top := len(all)
	best := min(max(0, top-spec.Explore), drawTop)
	if spec.Top > 0 && spec.Top < len(all) {
		top = spec.Top
		best = max(0, top-spec.Explore)
	}
	rest := slices.Clone(all[best:min(len(all), best+exploreMost)])
	terms := make([]termVector, len(rest))
	t, r := tally{worth: m.worth.reader()}, termRows{g: m.g, j: m.j}
	for i := range rest {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		stands, err := m.stands(&rest[i], &t, &r)
		if err != nil {
			return nil, err
		}
		known := 0.0
		for _, s := range stands {
			if s.known {
				for k, v := range s.terms {
					terms[i][k] += v
				}
				known++
			}
		}
		for k := range terms[i] {
			terms[i][k] /= known // NaN without any: never chosen
		}
	}
	c := m.p.weightCovariance(m.g.flatness != nil)
	var picked []Candidate
	for range spec.Explore {
		pick, most := -1, 0.0
		for i := range rest {
			if rest[i].Learning || access.Order(rest[i].Access) > 2 {
				continue
			}
			p := rest[i].BMean
			if gain := 0.5 * math.Log1p(exploreStops*p*(1-p)*quadratic(c, terms[i])); gain > most {
				pick, most = i, gain
			}
		}
		if pick < 0 {
			break
		}
		rest[pick].Learning, rest[pick].Gain = true, most
		p := rest[pick].BMean
		lessen(c, terms[pick], exploreStops*p*(1-p))
		picked = append(picked, rest[pick])
	}
	return withPicked(all, best, top, rest, picked), nil
}

// withPicked is the list of top patches: the best ones, as many more as the
// picked ones leave room for, and the picked ones. all[best:] was picked from;
// rest is the start of it, the picked ones marked.
func withPicked(all []Candidate, best, top int, rest, picked []Candidate) []Candidate {
	list := slices.Clone(all[:best])
	for i := best; i < len(all) && len(list) < top-len(picked); i++ {
		if k := i - best; k >= len(rest) || !rest[k].Learning {
			list = append(list, all[i])
		}
	}
	return append(list, picked...)
}

// lessen takes from the covariance what n·p·(1−p) worth of looking at t tells:
// C − C t tᵀ C · v/(1 + v tᵀCt).
func lessen(c *mat.SymDense, t termVector, v float64) {
	var ct termVector
	for i := range numTerms {
		for k := range numTerms {
			ct[i] += c.At(i, k) * t[k]
		}
	}
	f := v / (1 + v*quadratic(c, t))
	for i := range numTerms {
		for k := range i + 1 {
			c.SetSym(i, k, c.At(i, k)-f*ct[i]*ct[k])
		}
	}
}

// wantsTerms tells whether the terms of the bottomland model must be kept.
func (s *Survey) wantsTerms() bool {
	for _, l := range []string{"relative-height", "brook-height", "stream-distance", "uncertainty"} {
		if s.WantsLayer(l) {
			return true
		}
	}
	return s.Shortlist.Draws > 0 || s.Shortlist.Explore > 0
}
