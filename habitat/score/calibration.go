package score

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// coverage of the intervals of bins.
const coverage = 0.95

// Bin is records of nearly the same chance, and how often it came true.
type Bin struct {
	From  float64 `json:"from"` // lowest and highest chance said
	To    float64 `json:"to"`
	Said  float64 `json:"said"` // mean chance over the trials
	Seen  float64 `json:"seen"` // share of the trials that were
	Found float64 `json:"found"`
	Of    float64 `json:"of"`
	Low   float64 `json:"low"` // 95 % interval of Seen, Wilson, trials taken as independent
	High  float64 `json:"high"`
}

// Calibration puts the trials into bins of nearly equal count by rising
// chance. Records of equal chance are never parted, so there may be fewer bins
// than asked for, none of them empty. Scores must be chances, 0–1: else there
// are no bins and why says so.
func (s Sample) Calibration(bins int) (table []Bin, why string) {
	if why := s.chances(); why != "" {
		return nil, why
	}
	yes, no := s.Totals()
	n := yes + no
	bins = max(bins, 1)
	var b Bin
	done := 0.0
	shut := func() {
		b.Said /= b.Of
		b.Seen = b.Found / b.Of
		b.Low, b.High = Wilson(b.Found, b.Of, coverage)
		table = append(table, b)
		b = Bin{}
	}
	ties(s.Score, order(s.Score), func(group []int) {
		here := 0.0
		for _, i := range group {
			here += s.Yes[i] + s.No[i]
		}
		// A run of equal chances goes where its middle falls.
		if b.Of > 0 && binOf(done+here/2, n, bins) > binOf(done-b.Of/2, n, bins) {
			shut()
		}
		if b.Of == 0 {
			b.From = s.Score[group[0]]
		}
		b.To = s.Score[group[0]]
		for _, i := range group {
			b.Of += s.Yes[i] + s.No[i]
			b.Found += s.Yes[i]
			b.Said += s.Score[i] * (s.Yes[i] + s.No[i])
		}
		done += here
	})
	shut()
	return table, ""
}

func binOf(place, n float64, bins int) int {
	return min(int(place/n*float64(bins)), bins-1)
}

// Wilson is the score interval of x of n with the coverage given, 0–1 (Wilson
// 1927, Journal of the American Statistical Association 22:209–212). Counts
// need not be whole. Of no trials it is 0 to 1.
func Wilson(x, n, coverage float64) (low, high float64) {
	if !(n > 0) {
		return 0, 1
	}
	z := distuv.UnitNormal.Quantile(0.5 + coverage/2)
	p := x / n
	centre := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z * math.Sqrt(p*(1-p)/n+z*z/(4*n*n)) / (1 + z*z/n)
	low, high = max(0, centre-half), min(1, centre+half)
	// At none and all the interval ends exactly there.
	if x == 0 {
		low = 0
	}
	if x == n {
		high = 1
	}
	return low, high
}
