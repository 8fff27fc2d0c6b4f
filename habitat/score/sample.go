package score

import (
	"fmt"
	"math"
	"slices"
)

// Sample is scores beside what was found there. Slices are parallel.
type Sample struct {
	Score   []float64 // what the map says: a chance, or any number that is higher where more is expected
	Yes, No []float64 // trials that were and were not, 0 or more; weights need not be whole
	Row     []int     // row of each in what NewSample was given
	Missing int       // rows left out: without a score, or without a trial
}

// NewSample takes rows of found of n trials. Rows with a NaN score or no
// trial are left out and counted. A count that is negative or not finite, or
// more found than trials, is an error that names the row, from 0.
func NewSample(scores, n, found []float64) (Sample, error) {
	sameLength(len(scores), len(n), len(found))
	var s Sample
	for i := range scores {
		if !(n[i] >= 0) || math.IsInf(n[i], 0) || !(found[i] >= 0 && found[i] <= n[i]) {
			return Sample{}, fmt.Errorf("row %d: expected 0 or more trials and no more found than trials, found %g of %g", i, found[i], n[i])
		}
		s.add(i, scores[i], found[i], n[i]-found[i])
	}
	return s, nil
}

// Binary is a sample of single trials; NaN scores are left out and counted.
func Binary(scores []float64, is []bool) Sample {
	sameLength(len(scores), len(is))
	var s Sample
	for i, y := range is {
		if y {
			s.add(i, scores[i], 1, 0)
		} else {
			s.add(i, scores[i], 0, 1)
		}
	}
	return s
}

func (s *Sample) add(row int, score, yes, no float64) {
	if math.IsNaN(score) || yes+no == 0 {
		s.Missing++
		return
	}
	s.Score = append(s.Score, score)
	s.Yes = append(s.Yes, yes)
	s.No = append(s.No, no)
	s.Row = append(s.Row, row)
}

// Totals are the trials that were and that were not.
func (s Sample) Totals() (yes, no float64) { return total(s.Yes), total(s.No) }

// Rate is the share of trials that were; NaN of none.
func (s Sample) Rate() float64 {
	yes, no := s.Totals()
	return yes / (yes + no)
}

// bothKinds is empty when there are trials of both outcomes, else the reason
// why no score can tell them apart.
func (s Sample) bothKinds() string {
	yes, no := s.Totals()
	switch {
	case yes+no == 0:
		return "no records"
	case yes == 0:
		return "all records are no"
	case no == 0:
		return "all records are yes"
	}
	return ""
}

// chances is empty when every score can be a chance.
func (s Sample) chances() string {
	if len(s.Score) == 0 {
		return "no records"
	}
	for _, p := range s.Score {
		if !(p >= 0 && p <= 1) {
			return fmt.Sprintf("scores are not chances: expected 0 to 1, found %g", p)
		}
	}
	return ""
}

// order is the rows by rising score; equal scores by row.
func order(score []float64) []int {
	at := make([]int, len(score))
	for i := range at {
		at[i] = i
	}
	slices.SortFunc(at, func(a, b int) int {
		switch {
		case score[a] < score[b]:
			return -1
		case score[a] > score[b]:
			return 1
		}
		return a - b
	})
	return at
}

// ties calls each with the ends of every run of equal scores in at.
func ties(score []float64, at []int, each func(group []int)) {
	for i := 0; i < len(at); {
		k := i + 1
		for k < len(at) && score[at[k]] == score[at[i]] {
			k++
		}
		each(at[i:k])
		i = k
	}
}

func total(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum
}

func sameLength(n int, others ...int) {
	for _, m := range others {
		if m != n {
			panic(fmt.Sprintf("score: slices of %d and %d rows", n, m))
		}
	}
}
