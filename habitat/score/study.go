package score

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Study is what Evaluate needs.
type Study struct {
	What    string      // what a yes is, for people: "a host tree there", "trees with finds"
	Points  []orb.Point // of each record, metres of one projected system
	Records Records     // Place is set by Evaluate: rows of one block belong together
	Models  []Model     // at least one; the last is the one whose calibration is shown
	Naive   []Naive
	// Residuals of each record, from which the side of blocks is taken, best
	// those of the map in use. nil: Pearson's of the first model fitted to all.
	Residuals []float64
	SideM     float64 // of blocks, m; 0: from the residuals
	Side      SideOptions
	Folds     int    // 0: 5
	Seed      uint64 // of the random folds
	// The map's values at the records and at places of the map as a whole; nil
	// leaves out what is said of the ground looked at.
	AtRecords, AtBackground []float64
}

// Model is a way to make a map from records. One that does not learn ignores
// them.
type Model struct {
	Name string
	Fit  Fit
}

// Naive is a map as simple as can be, for comparison: higher where more is
// expected (turn a height round). Values are for every record and then for the
// background, NaN where there is none.
type Naive struct {
	Name   string
	Values []float64
}

// Evaluate scores every model and every naive map on unseen blocks and, beside
// it, on random folds, which flatter: a neighbour of a record is nearly that
// record (Roberts and others 2017). Where there are too few records or blocks,
// scores are unknown and say why; errors are for input that is none.
func Evaluate(s Study) (*Report, error) {
	n := len(s.Points)
	sameLength(n, len(s.Records.Yes), len(s.Records.No))
	for i := range s.Points {
		y, m := s.Records.Yes[i], s.Records.No[i]
		if !(y >= 0 && m >= 0) || math.IsInf(y+m, 0) {
			return nil, fmt.Errorf("record %d: expected counts of 0 or more, found %g and %g", i, y, m)
		}
		if !within(s.Points[i]) {
			return nil, fmt.Errorf("record %d: expected coordinates in metres, found %g, %g", i, s.Points[i][0], s.Points[i][1])
		}
	}
	if len(s.Models) == 0 {
		return nil, errors.New("nothing to score: expected at least one map")
	}
	if s.Folds == 0 {
		s.Folds = 5
	}
	if s.Folds < 2 {
		return nil, fmt.Errorf("folds: expected 2 or more, found %d", s.Folds)
	}
	r := &Report{What: s.What, Records: n, Seed: s.Seed, Warnings: []string{}}
	yes, no := total(s.Records.Yes), total(s.Records.No)
	r.Trials, r.Found = yes+no, yes
	if err := s.chooseSide(r); err != nil {
		return nil, err
	}
	blocks, err := Blocks(s.Points, r.Side.M)
	if err != nil {
		return nil, err
	}
	list, place := distinct(blocks)
	r.Side.Blocks = len(list)
	s.Records.Place = place
	blocked, whyNot := s.blockedFolds(r)
	random, whyNotRandom := s.randomFolds(r)
	for _, m := range s.Models {
		err := r.add(Scored{Name: m.Name}, blocked, whyNot, random, whyNotRandom, func(folds []int) (Scores, error) {
			return CrossValidate(s.Records, folds, m.Fit)
		})
		if err != nil {
			return nil, err
		}
	}
	for _, m := range s.Naive {
		if want := n + s.Records.Background; len(m.Values) != want {
			return nil, fmt.Errorf("map %q: expected %d values for records and background, found %d", m.Name, want, len(m.Values))
		}
		err := r.add(Scored{Name: m.Name, Naive: true}, blocked, whyNot, random, whyNotRandom, func(folds []int) (Scores, error) {
			return naiveScores(s.Records, folds, m.Values)
		})
		if err != nil {
			return nil, err
		}
	}
	if s.AtRecords != nil || s.AtBackground != nil {
		sel := Select(s.AtRecords, s.AtBackground)
		r.Selection = &sel
	}
	r.warn()
	return r, nil
}

func (s *Study) chooseSide(r *Report) error {
	if s.SideM != 0 {
		if !(s.SideM > 0) || math.IsInf(s.SideM, 0) {
			return fmt.Errorf("blocks: expected a side above 0 m, found %g", s.SideM)
		}
		r.Side = Side{M: s.SideM, Range: unknown("not looked for"), How: "side as told"}
		return nil
	}
	if s.Residuals == nil {
		s.Residuals = s.residuals()
	}
	sameLength(len(s.Points), len(s.Residuals))
	r.Side = BlockSide(s.Points, s.Residuals, s.Side)
	return nil
}

// residuals are those of the first model fitted to all records; NaN where it
// cannot be.
func (s *Study) residuals() []float64 {
	n := len(s.Points)
	all, of, p := make([]int, n), make([]float64, n), make([]float64, n)
	for i := range all {
		all[i], of[i], p[i] = i, s.Records.Yes[i]+s.Records.No[i], math.NaN()
	}
	if n > 0 {
		if predict, err := s.Models[0].Fit(all); err == nil {
			for i := range p {
				p[i] = predict(i)
			}
		}
	}
	return Residuals(p, of, s.Records.Yes)
}

func (s *Study) blockedFolds(r *Report) (folds []int, whyNot string) {
	k := min(s.Folds, r.Side.Blocks)
	switch {
	case len(s.Points) == 0:
		return nil, "no records"
	case k < 2:
		return nil, "all records lie in one block, so no block is unseen"
	}
	of := make([]float64, len(s.Points))
	for i := range of {
		of[i] = s.Records.Yes[i] + s.Records.No[i]
	}
	folds, err := BalancedFolds(s.Points, of, r.Side.M, k)
	if err != nil {
		return nil, err.Error()
	}
	r.Folds = k
	return folds, ""
}

func (s *Study) randomFolds(r *Report) (folds []int, whyNot string) {
	n := len(s.Points)
	k := min(s.Folds, n)
	switch {
	case n == 0:
		return nil, "no records"
	case k < 2:
		return nil, "one record: none are left to fit to"
	}
	folds, err := RandomFolds(n, k, s.Seed)
	if err != nil {
		return nil, err.Error()
	}
	r.RandomFolds = k
	return folds, ""
}

// add scores one map both ways.
func (r *Report) add(m Scored, blocked []int, whyNot string, random []int, whyNotRandom string, score func([]int) (Scores, error)) error {
	m.Blocked, m.Random = noScores(whyNot), noScores(whyNotRandom)
	var err error
	if blocked != nil {
		if m.Blocked, err = score(blocked); err != nil {
			return fmt.Errorf("map %q: %w", m.Name, err)
		}
	}
	if random != nil {
		if m.Random, err = score(random); err != nil {
			return fmt.Errorf("map %q: %w", m.Name, err)
		}
	}
	r.Maps = append(r.Maps, m)
	return nil
}

func noScores(why string) Scores {
	f := unknown("%s", why)
	return Scores{AUC: f, AUCByPlace: f, AUCWithin: f, Brier: f, Skill: f, TSS: f, Kappa: f, Beyond: f,
		Boyce: BoyceIndex{Index: f, Distinct: f}, Logits: Logits{f, f, f}}
}
