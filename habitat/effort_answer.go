package habitat

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// EffortQuestion asks how many trees to check, or what checking some told.
type EffortQuestion struct {
	Belief     HitBelief // before anything was looked at
	Confidence float64   // wanted chance of one find, and coverage of every interval, 0.01–0.9999
	Checked    int       // trees looked at in season; 0: none
	Found      int       // those that carried the target
}

// EffortAnswer is the answer, ready to be shown or written as JSON. Numbers
// of trees that would go beyond MaxTrees are nil.
type EffortAnswer struct {
	Of         string       `json:"of"`
	Confidence float64      `json:"confidence"`
	Before     EffortRate   `json:"before"`
	Seen       *EffortSeen  `json:"seen,omitempty"`
	Now        EffortRate   `json:"now"` // Before, when nothing was looked at
	Trees      EffortTrees  `json:"trees_to_check"`
	Table      EffortTables `json:"table"`
	Assumed    string       `json:"assumed"`
	Caution    string       `json:"caution"`
}

// EffortRate is a belief in numbers. The interval is the central one of the
// Beta distribution; it is nil when nothing is known of the rate's doubt.
type EffortRate struct {
	Rate     float64     `json:"rate"`
	Beta     *[2]float64 `json:"beta"`
	Interval *[2]float64 `json:"interval"`
}

// EffortSeen is what the trees looked at tell without and with the belief.
type EffortSeen struct {
	Checked int `json:"checked"`
	Found   int `json:"found"`
	// Interval of the rate from the counts alone (Clopper and Pearson 1934).
	Interval [2]float64 `json:"interval"`
	// After no find at all: what the rate is below, one-sided, from the
	// counts alone, and with the belief; and the chance that so many trees
	// would have shown at least one, at the rate as it was and with its doubt.
	Below         *float64 `json:"below,omitempty"`
	BelowBelieved *float64 `json:"below_believed,omitempty"`
	Would         *float64 `json:"would_have_found,omitempty"`
	WouldDoubtful *float64 `json:"would_have_found_uncertain,omitempty"`
}

// EffortTrees is how many trees give one chance of a find.
type EffortTrees struct {
	Chance    float64 `json:"chance"`
	Fixed     *int    `json:"fixed_rate"`     // were the rate just that
	Uncertain *int    `json:"uncertain_rate"` // its doubt counted in; nil too when nothing is known of it
}

// EffortTables is one row for each usual chance, and the wanted one.
type EffortTables []EffortTrees

const effortAssumed = "Trees are taken to carry it or not independently of each other, and a find on a tree looked at is never missed. Neighbours are often alike, so spread the trees over the patch; count only dead or dying trees, in season."

// AnswerEffort works an answer out. Errors name the counts that cannot be.
func AnswerEffort(q EffortQuestion) (*EffortAnswer, error) {
	switch {
	case q.Checked < 0 || q.Checked > MaxTrees:
		return nil, fmt.Errorf("expected 1 to %d trees looked at, found %d", MaxTrees, q.Checked)
	case q.Found < 0 || q.Found > q.Checked:
		return nil, fmt.Errorf("expected 0 to %d finds in %d trees, found %d; count trees, not clusters", q.Checked, q.Checked, q.Found)
	case !(q.Belief.Rate > 0 && q.Belief.Rate < 1):
		return nil, fmt.Errorf("expected a rate between 0 and 1, found %g", q.Belief.Rate)
	case !(q.Confidence >= 0.01 && q.Confidence <= 0.9999):
		return nil, fmt.Errorf("expected a chance from 1%% to 99.99%%, found %g", q.Confidence)
	}
	now := q.Belief
	if q.Checked > 0 && now.Doubtful() {
		now.Beta = now.Beta.Update(float64(q.Found), float64(q.Checked))
		now.Rate = now.Beta.Mean()
	}
	a := &EffortAnswer{
		Of: q.Belief.Of, Confidence: q.Confidence, Before: rateOf(q.Belief, q.Confidence), Now: rateOf(now, q.Confidence),
		Trees: treesFor(now, q.Confidence), Assumed: effortAssumed, Caution: safetyLine,
	}
	if q.Checked > 0 {
		a.Seen = seen(q, now)
	}
	chances := []float64{0.5, 0.8, 0.9, 0.95, 0.99}
	if !slices.Contains(chances, q.Confidence) {
		chances = append(chances, q.Confidence)
		slices.Sort(chances)
	}
	for _, c := range chances {
		a.Table = append(a.Table, treesFor(now, c))
	}
	return a, nil
}

func rateOf(b HitBelief, confidence float64) EffortRate {
	r := EffortRate{Rate: b.Rate}
	if b.Doubtful() {
		tail := (1 - confidence) / 2
		r.Beta = &[2]float64{b.Beta.A, b.Beta.B}
		r.Interval = &[2]float64{b.Beta.Quantile(tail), b.Beta.Quantile(1 - tail)}
	}
	return r
}

func treesFor(b HitBelief, chance float64) EffortTrees {
	t := EffortTrees{Chance: chance}
	if n, ok := TreesToCheck(b.Rate, chance); ok {
		t.Fixed = &n
	}
	if b.Doubtful() {
		if n, ok := b.Beta.TreesToCheck(chance); ok {
			t.Uncertain = &n
		}
	}
	return t
}

func seen(q EffortQuestion, now HitBelief) *EffortSeen {
	s := &EffortSeen{Checked: q.Checked, Found: q.Found}
	s.Interval[0], s.Interval[1] = ClopperPearson(q.Found, q.Checked, q.Confidence)
	if q.Found > 0 {
		return s
	}
	below, would := UpperAfterNone(q.Checked, q.Confidence), ChanceOfFind(q.Belief.Rate, q.Checked)
	s.Below, s.Would = &below, &would
	if now.Doubtful() {
		believed, doubtful := now.Beta.Quantile(q.Confidence), q.Belief.Beta.ChanceOfFind(q.Checked)
		s.BelowBelieved, s.WouldDoubtful = &believed, &doubtful
	}
	return s
}

// ClopperPearson is the exact two-sided interval of a rate after x finds in
// n trees (Clopper and Pearson 1934, Biometrika 26:404–413); without trees
// it is 0 to 1.
func ClopperPearson(x, n int, confidence float64) (low, high float64) {
	tail := (1 - confidence) / 2
	low, high = 0, 1
	if x > 0 && x <= n {
		low = mathext.InvRegIncBeta(float64(x), float64(n-x+1), tail)
	}
	if x >= 0 && x < n {
		high = mathext.InvRegIncBeta(float64(x+1), float64(n-x), 1-tail)
	}
	return math.Max(low, 0), math.Min(high, 1)
}
