package score

import (
	"fmt"
	"math"
)

// Records are what a map is held against, row by row.
type Records struct {
	Yes, No []float64 // trials that were and were not
	// Place tells which rows belong together, such as those of one block; nil
	// means that every row stands by itself.
	Place []int
	// Background is how many places of the map as a whole predictions are
	// asked for as well, as rows len(Yes), len(Yes)+1, … With none, the Boyce
	// index compares places with finds with all places looked at.
	Background int
}

// Fit makes a map from the rows of train, which rise; predict then gives the
// chance of a yes for any row, NaN where there is none.
type Fit func(train []int) (predict func(row int) float64, err error)

// Scores are how good predictions were for rows the fit had not seen.
type Scores struct {
	Records  int     `json:"records"` // rows with a prediction and a trial
	Trials   float64 `json:"trials"`
	Found    float64 `json:"found"`
	Unscored int     `json:"unscored"` // rows without a prediction or without a trial

	AUC        Figure `json:"auc"`             // error of Hanley and McNeil
	AUCByPlace Figure `json:"auc_by_place"`    // same, its error lets rows of a place be alike
	AUCWithin  Figure `json:"auc_within_fold"` // only rows of one fold compared
	Brier      Figure `json:"brier"`
	Skill      Figure `json:"skill"`
	// TSS and Kappa are at a threshold each fold takes from the rows it was
	// fitted to, that of their best TSS.
	TSS       Figure     `json:"tss"`
	Kappa     Figure     `json:"kappa"`
	Boyce     BoyceIndex `json:"boyce"`
	BoyceOver string     `json:"boyce_over"` // what the background was
	Logits    Logits     `json:"logits"`
	Bins      []Bin      `json:"calibration"`
	// Beyond is the share of rows predicted outside the range of predictions
	// for the rows fitted to: there the fit reaches into the unknown.
	Beyond Figure   `json:"beyond_fitted"`
	Notes  []string `json:"notes,omitempty"`
	// Predicted is the prediction for each row by the fold that had not seen
	// it, NaN where there is none.
	Predicted []float64 `json:"-"`
}

// calibrationBins is how many bins Scores has: ten where there are 200 trials
// or more, else so many that each has twenty (common practice, no source).
func calibrationBins(trials float64) int {
	return min(10, max(2, int(trials/20)))
}

// CrossValidate fits on all folds but one and predicts that one, for each
// fold. folds has the fold of each row, from 0. A fit that fails leaves its
// fold without prediction and a note; errors are for folds that are none.
func CrossValidate(r Records, folds []int, fit Fit) (Scores, error) {
	n := len(r.Yes)
	sameLength(n, len(r.No), len(folds))
	k := 0
	for i, f := range folds {
		if f < 0 {
			return Scores{}, fmt.Errorf("row %d: expected a fold of 0 or more, found %d", i, f)
		}
		k = max(k, f+1)
	}
	if n == 0 {
		return scoresOf(r, folds, nil, Weighted{}, Cut{}, 0, nil)
	}
	predicted := make([]float64, n)
	for i := range predicted {
		predicted[i] = math.NaN()
	}
	var background Weighted
	var cut Cut
	var notes []string
	beyond := 0.0
	for fold := range k {
		var train, test []int
		for i, f := range folds {
			if f == fold {
				test = append(test, i)
			} else {
				train = append(train, i)
			}
		}
		switch {
		case len(test) == 0:
			continue
		case len(train) == 0:
			return Scores{}, fmt.Errorf("folds: all rows are in fold %d, so none are left to fit to", fold)
		}
		predict, err := fit(train)
		if err != nil {
			notes = append(notes, fmt.Sprintf("fold %d of %d could not be fitted: %v", fold+1, k, err))
			continue
		}
		seen := Sample{}
		low, high := math.Inf(1), math.Inf(-1)
		for _, i := range train {
			p := predict(i)
			seen.add(i, p, r.Yes[i], r.No[i])
			if !math.IsNaN(p) {
				low, high = min(low, p), max(high, p)
			}
		}
		best, noCut := seen.BestCut()
		yes := 0.0
		for _, i := range test {
			p := predict(i)
			predicted[i] = p
			if math.IsNaN(p) {
				continue
			}
			yes += r.Yes[i]
			if noCut == nil {
				cut.count(p >= best.T, r.Yes[i], r.No[i])
			}
			if r.Yes[i]+r.No[i] > 0 && (p < low || p > high) {
				beyond++
			}
		}
		// Each fold's finds are compared with that fold's own map.
		for j := 0; j < r.Background && yes > 0; j++ {
			background.Value = append(background.Value, predict(n+j))
			background.Weight = append(background.Weight, yes)
		}
	}
	return scoresOf(r, folds, predicted, background, cut, beyond, notes)
}

func scoresOf(r Records, folds []int, predicted []float64, background Weighted, cut Cut, beyond float64, notes []string) (Scores, error) {
	of := make([]float64, len(r.Yes))
	for i := range of {
		of[i] = r.Yes[i] + r.No[i]
	}
	s, err := NewSample(predicted, of, r.Yes)
	if err != nil {
		return Scores{}, err
	}
	place := r.Place
	if place == nil {
		place = make([]int, len(r.Yes))
		for i := range place {
			place[i] = i
		}
	}
	yes, no := s.Totals()
	out := Scores{
		Records: len(s.Score), Trials: yes + no, Found: yes, Unscored: s.Missing,
		AUC: s.AUC(), AUCByPlace: s.AUCByPlace(place), AUCWithin: s.AUCWithin(folds),
		Brier: s.Brier(), Skill: s.Skill(), Logits: s.Logits(),
		TSS: cut.TSS(), Kappa: cut.Kappa(),
		Notes: notes, Predicted: predicted,
	}
	out.Beyond = unknown("no records")
	if len(s.Score) > 0 {
		out.Beyond = known(beyond / float64(len(s.Score)))
	}
	out.Bins, _ = s.Calibration(calibrationBins(yes + no))
	out.BoyceOver = "map"
	if r.Background == 0 {
		out.BoyceOver = "places looked at"
		background = Weighted{s.Score, s.trials()}
	}
	out.Boyce = Boyce(Weighted{s.Score, s.Yes}, background, BoyceOptions{})
	return out, nil
}

// trials is the trials of each row of a sample.
func (s Sample) trials() []float64 {
	of := make([]float64, len(s.Yes))
	for i := range of {
		of[i] = s.Yes[i] + s.No[i]
	}
	return of
}
