package habitat

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// leastRate is how near a rate may come to 0 or 1.
const leastRate = 1e-6

// HitBelief is the chance that one dead or dying tree carries the target in
// season, and how sure of it one is.
type HitBelief struct {
	Of   string  // what trees it is of, for people: "American elm, profile elm-bottoms"
	Rate float64 // 0–1, neither included
	Beta Beta    // the rate as an uncertain one, with mean Rate; zero when nothing is known of its doubt
}

// Doubtful tells whether the belief says how uncertain its rate is.
func (b HitBelief) Doubtful() bool { return b.Beta.A > 0 && b.Beta.B > 0 }

// BeliefOfHost is the belief of a profile about one of its hosts; no id
// means its first.
func BeliefOfHost(p *Profile, id string) (HitBelief, error) {
	ids := make([]string, len(p.Hosts))
	for k, h := range p.Hosts {
		ids[k] = h.ID
		if id == "" || h.ID == id {
			beta := h.HitRate.Beta()
			return HitBelief{Of: plainName(h.Common) + ", profile " + p.Name, Rate: beta.Mean(), Beta: beta}, nil
		}
	}
	return HitBelief{}, fmt.Errorf("%q is no host of profile %s; %s", oneLine(id), p.Name, suggest(id, ids))
}

// BeliefOfRate reads a rate as a person writes it: a count such as 3/40, a
// share such as 0.075, or 7.5%. A count is believed as if its own trees had
// been seen, a share only as far as weight says, in trees; weight above zero
// holds for a count as well.
func BeliefOfRate(text string, weight float64) (HitBelief, error) {
	p, of, err := parseRate(text)
	if err != nil {
		return HitBelief{}, err
	}
	if weight != 0 && !(weight >= 0.1 && weight <= MaxTrees) {
		return HitBelief{}, fmt.Errorf("a rate is believed as if 0.1 to %d trees had been seen, found %g", MaxTrees, weight)
	}
	if weight > 0 {
		of = weight
	}
	b := HitBelief{Of: "a rate of your own", Rate: p}
	if of > 0 {
		b.Beta = Beta{A: of * p, B: of * (1 - p)}
	}
	return b, nil
}

// parseRate gives the rate, and the trees of a count or 0.
func parseRate(text string) (p, of float64, err error) {
	const ways = "a count such as 3/40, a share such as 0.075, or 7.5%"
	hits, trees, counted := strings.Cut(text, "/")
	if counted {
		x, err1 := strconv.ParseFloat(strings.TrimSpace(hits), 64)
		n, err2 := strconv.ParseFloat(strings.TrimSpace(trees), 64)
		if err1 != nil || err2 != nil || !(n >= 1 && n <= MaxTrees) || !(x >= 0) {
			return 0, 0, fmt.Errorf("expected %s, found %q", ways, oneLine(text))
		}
		p, of = x/n, n
	} else if p, err = parseShare(text); err != nil {
		return 0, 0, fmt.Errorf("expected %s, found %q", ways, oneLine(text))
	}
	switch {
	case p == 0:
		return 0, 0, fmt.Errorf("%q: a rate of nought calls for no end of trees; ask with --none what trees without a find tell", oneLine(text))
	case !(p >= leastRate && p <= 1-leastRate):
		return 0, 0, fmt.Errorf("expected a rate above 0 and below 1 by at least %g, found %q", leastRate, oneLine(text))
	}
	return p, of, nil
}

// ParseChance reads a chance as a person writes it: 0.95 or 95%. It lies
// between 0.01 and 0.9999.
func ParseChance(text string) (float64, error) {
	p, err := parseShare(text)
	if err != nil || !(p >= 0.01 && p <= 0.9999) {
		return 0, fmt.Errorf("expected a chance from 1%% to 99.99%%, such as 95%% or 0.95, found %q", oneLine(text))
	}
	return p, nil
}

// parseShare reads 0.075 or 7.5%.
func parseShare(text string) (float64, error) {
	number, percent := strings.CutSuffix(strings.TrimSpace(text), "%")
	v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil {
		return 0, err
	}
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, strconv.ErrRange
	}
	if percent {
		// Through text, so that 7.5% is 0.075 to the last bit.
		if exact, err := strconv.ParseFloat(strings.TrimSpace(number)+"e-2", 64); err == nil {
			return exact, nil
		}
		v /= 100
	}
	return v, nil
}
