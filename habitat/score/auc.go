package score

import "math"

// AUC is the area under the ROC curve of single trials, and its standard
// error: see Sample.AUC. Both are NaN without trials of both kinds.
func AUC(scores []float64, is []bool) (auc, se float64) {
	f := Binary(scores, is).AUC()
	return f.Value, f.SE
}

// AUC is the chance that a trial that was scores above one that was not, ties
// counting half, by mid-ranks. Its standard error is that of Hanley and
// McNeil 1982, Radiology 143:29–36, with every trial taken as independent;
// trees of one place are not, so see AUCByPlace.
func (s Sample) AUC() Figure {
	if why := s.bothKinds(); why != "" {
		return unknown("%s", why)
	}
	yes, no := s.Totals()
	a := s.pairsWon() / (yes * no)
	q1, q2 := a/(2-a), 2*a*a/(1+a)
	variance := (a*(1-a) + (yes-1)*(q1-a*a) + (no-1)*(q2-a*a)) / (yes * no)
	f := Figure{Value: a, SE: math.Sqrt(max(variance, 0))}
	if a == 0 || a == 1 {
		f.Why = "every yes lies on one side of every no: the standard error's formula gives 0, which is too sure"
	}
	return f
}

// pairsWon counts pairs of a yes and a no of which the yes scores higher,
// half for ties: the U of Mann and Whitney.
func (s Sample) pairsWon() float64 {
	won, below := 0.0, 0.0
	ties(s.Score, order(s.Score), func(group []int) {
		yes, no := 0.0, 0.0
		for _, i := range group {
			yes += s.Yes[i]
			no += s.No[i]
		}
		won += yes * (below + no/2)
		below += no
	})
	return won
}

// AUCByPlace is AUC with a standard error that lets trials of one place be as
// alike as they are (Obuchowski 1997, Biometrics 53:567–578, from memory; with
// each row a place of its own that of DeLong, DeLong and Clarke-Pearson 1988,
// Biometrics 44:837–845). place has one entry for each row NewSample was given.
func (s Sample) AUCByPlace(place []int) Figure {
	if why := s.bothKinds(); why != "" {
		return unknown("%s", why)
	}
	yes, no := s.Totals()
	a := s.pairsWon() / (yes * no)
	f := known(a)
	if a == 0 || a == 1 {
		f.Why = "every yes lies on one side of every no: no standard error"
		return f
	}
	// What each place adds, less what it would at the overall chance.
	type share struct{ yes, no, hasYes, hasNo float64 }
	index := map[int]int{}
	var shares []share
	below := 0.0 // no's under the scores at hand
	passed := 0.0
	ties(s.Score, order(s.Score), func(group []int) {
		gy, gn := 0.0, 0.0
		for _, i := range group {
			gy += s.Yes[i]
			gn += s.No[i]
		}
		for _, i := range group {
			p, ok := index[place[s.Row[i]]]
			if !ok {
				p = len(shares)
				index[place[s.Row[i]]] = p
				shares = append(shares, share{})
			}
			c := &shares[p]
			c.yes += s.Yes[i] * ((below+gn/2)/no - a)
			c.no += s.No[i] * ((yes-passed-gy/2)/yes - a)
			c.hasYes = max(c.hasYes, sign(s.Yes[i]))
			c.hasNo = max(c.hasNo, sign(s.No[i]))
		}
		below += gn
		passed += gy
	})
	var s10, s01, s11, withYes, withNo float64
	for _, c := range shares {
		s10 += c.yes * c.yes
		s01 += c.no * c.no
		s11 += c.yes * c.no
		withYes += c.hasYes
		withNo += c.hasNo
	}
	places := float64(len(shares))
	if withYes < 2 || withNo < 2 {
		f.Why = "fewer than two places with a yes or with a no: no standard error"
		return f
	}
	variance := withYes/(withYes-1)*s10/(yes*yes) + withNo/(withNo-1)*s01/(no*no) + 2*places/(places-1)*s11/(yes*no)
	f.SE = math.Sqrt(max(variance, 0))
	return f
}

// AUCWithin compares only trials of one group, such as a fold, and adds up.
// Scores of several fits pooled can rank below chance though each fit is fair
// (Parker, Günter and Bedo 2007, BMC Bioinformatics 8:326, from memory). group
// has one entry for each row NewSample was given.
func (s Sample) AUCWithin(group []int) Figure {
	if why := s.bothKinds(); why != "" {
		return unknown("%s", why)
	}
	parts := map[int]*Sample{}
	var seen []int // in order of first sight, so that sums keep their order
	for i, row := range s.Row {
		g := group[row]
		if parts[g] == nil {
			parts[g] = &Sample{}
			seen = append(seen, g)
		}
		parts[g].add(row, s.Score[i], s.Yes[i], s.No[i])
	}
	won, pairs := 0.0, 0.0
	for _, g := range seen {
		yes, no := parts[g].Totals()
		if yes*no > 0 {
			won += parts[g].pairsWon()
			pairs += yes * no
		}
	}
	if pairs == 0 {
		return unknown("no fold has both a yes and a no")
	}
	return known(won / pairs)
}

func sign(v float64) float64 {
	if v > 0 {
		return 1
	}
	return 0
}
