package score

import (
	"math"
	"slices"
)

// fewClasses is up to how many values a naive map is taken as one of classes.
const fewClasses = 20

// ClassRates is the fit of a map of few classes, such as land cover with elm
// or without: the chance in each class is the share of yes among the rows of
// train there, (x + ½)/(n + 1) (Jeffreys' prior, Beta(½, ½)); in a class
// without rows that of all rows. class has a value for every row and for the
// background after them; NaN gives no chance.
func ClassRates(r Records, class []float64) Fit {
	return func(train []int) (func(int) float64, error) {
		type count struct{ yes, of float64 }
		counts := map[float64]count{}
		var all count
		for _, i := range train {
			if math.IsNaN(class[i]) {
				continue
			}
			c := counts[class[i]]
			c.yes += r.Yes[i]
			c.of += r.Yes[i] + r.No[i]
			counts[class[i]] = c
			all.yes += r.Yes[i]
			all.of += r.Yes[i] + r.No[i]
		}
		return func(row int) float64 {
			if math.IsNaN(class[row]) {
				return math.NaN()
			}
			c := counts[class[row]]
			if c.of == 0 {
				c = all
			}
			return (c.yes + 0.5) / (c.of + 1)
		}, nil
	}
}

// naiveScores scores a map nobody fitted. It ranks places as it stands (AUC,
// Boyce); a map of few classes has its chances from the other folds.
func naiveScores(r Records, folds []int, value []float64) (Scores, error) {
	asIs := func([]int) (func(int) float64, error) {
		return func(row int) float64 { return value[row] }, nil
	}
	s, err := CrossValidate(r, folds, asIs)
	if err != nil || !classes(value) {
		return s, err
	}
	c, err := CrossValidate(r, folds, ClassRates(r, value))
	if err != nil {
		return s, err
	}
	c.AUC, c.AUCByPlace, c.AUCWithin, c.Boyce = s.AUC, s.AUCByPlace, s.AUCWithin, s.Boyce
	return c, nil
}

// classes tells whether there are so few values that they are classes.
func classes(value []float64) bool {
	var seen []float64
	for _, v := range value {
		if math.IsNaN(v) || slices.Contains(seen, v) {
			continue
		}
		if seen = append(seen, v); len(seen) > fewClasses {
			return false
		}
	}
	return true
}
