package score

import "fmt"

// Cut is what a threshold makes of a sample: a trial is called yes where the
// score is at or above T. Counts are of trials.
type Cut struct {
	T  float64 `json:"threshold"`
	TP float64 `json:"yes_called_yes"`
	FP float64 `json:"no_called_yes"`
	FN float64 `json:"yes_called_no"`
	TN float64 `json:"no_called_no"`
}

// CutAt counts trials on both sides of a threshold.
func (s Sample) CutAt(t float64) Cut {
	c := Cut{T: t}
	for i, v := range s.Score {
		c.count(v >= t, s.Yes[i], s.No[i])
	}
	return c
}

func (c *Cut) count(called bool, yes, no float64) {
	if called {
		c.TP += yes
		c.FP += no
	} else {
		c.FN += yes
		c.TN += no
	}
}

// Sensitivity is the share of the yes called yes.
func (c Cut) Sensitivity() Figure {
	if c.TP+c.FN == 0 {
		return unknown("no yes among the records")
	}
	return known(c.TP / (c.TP + c.FN))
}

// Specificity is the share of the no called no.
func (c Cut) Specificity() Figure {
	if c.TN+c.FP == 0 {
		return unknown("no no among the records")
	}
	return known(c.TN / (c.TN + c.FP))
}

// TSS is sensitivity + specificity − 1, the true skill statistic (Allouche,
// Tsoar and Kadmon 2006, Journal of Applied Ecology 43:1223–1232).
func (c Cut) TSS() Figure {
	a, b := c.Sensitivity(), c.Specificity()
	if !a.Known() {
		return a
	}
	if !b.Known() {
		return b
	}
	return known(a.Value + b.Value - 1)
}

// Kappa is the agreement beyond chance (Cohen 1960, Educational and
// Psychological Measurement 20:37–46, from memory).
func (c Cut) Kappa() Figure {
	n := c.TP + c.FP + c.FN + c.TN
	if n == 0 {
		return unknown("no records")
	}
	agree := (c.TP + c.TN) / n
	chance := ((c.TP+c.FP)*(c.TP+c.FN) + (c.FN+c.TN)*(c.FP+c.TN)) / (n * n)
	if chance >= 1 {
		return unknown("records and calls are all of one kind")
	}
	return known((agree - chance) / (1 - chance))
}

// BestCut is the threshold of the largest TSS, of those that are scores of the
// sample; of equals the lowest. On the same records it flatters: CrossValidate
// takes it from the other folds. It is an error where TSS is not defined.
func (s Sample) BestCut() (Cut, error) {
	if why := s.bothKinds(); why != "" {
		return Cut{}, fmt.Errorf("no threshold: %s", why)
	}
	yes, no := s.Totals()
	var best Cut
	bestTSS := -2.0
	c := Cut{TP: yes, FP: no}
	ties(s.Score, order(s.Score), func(group []int) {
		c.T = s.Score[group[0]]
		if t := c.TP/yes - c.FP/no; t > bestTSS+1e-12 { // rounding must not choose between equals
			best, bestTSS = c, t
		}
		for _, i := range group {
			c.TP -= s.Yes[i]
			c.FN += s.Yes[i]
			c.FP -= s.No[i]
			c.TN += s.No[i]
		}
	})
	return best, nil
}
