package compare

import (
	"cmp"
	"reflect"
	"slices"
)

// Pair is one candidate before and after. Before is nil where it entered,
// After where it left.
type Pair struct {
	Status   Status     `json:"status"`
	Before   *Candidate `json:"before"`
	After    *Candidate `json:"after"`
	SharedHa float64    `json:"shared_ha"` // ground both outlines hold, in cells of A's grid
	Why      Reason     `json:"why"`
}

// rank is where a pair stands in the list of pairs.
func (p *Pair) rank() int {
	if p.After != nil {
		return p.After.Rank
	}
	return p.Before.Rank
}

// pairs lists what became of each candidate, by rank after (before, for those
// that left; these stand behind the others of that rank).
func (m *matching) pairs(a, b *Run, why *reasoner) []Pair {
	out := []Pair{}
	for j := range b.Candidates {
		i := m.ofB[j]
		if i < 0 {
			out = append(out, Pair{Status: Entered, After: &b.Candidates[j], Why: why.came(j)})
			continue
		}
		p := Pair{Status: Stayed, Before: &a.Candidates[i], After: &b.Candidates[j], SharedHa: tidy(float64(m.shared[[2]int{i, j}])*m.grid.CellHa(), 4)}
		switch {
		case p.After.Rank < p.Before.Rank:
			p.Status = Rose
		case p.After.Rank > p.Before.Rank:
			p.Status = Fell
		}
		p.Why = why.moved(i, j, p.Status)
		out = append(out, p)
	}
	for i := range a.Candidates {
		if m.ofA[i] < 0 {
			out = append(out, Pair{Status: Left, Before: &a.Candidates[i], Why: why.went(i)})
		}
	}
	slices.SortStableFunc(out, func(p, q Pair) int { return cmp.Compare(p.rank(), q.rank()) })
	return out
}

// allAlike tells whether every candidate has the figures and outline it had.
func allAlike(pairs []Pair) bool {
	return !slices.ContainsFunc(pairs, func(p Pair) bool {
		return p.Before == nil || p.After == nil || !reflect.DeepEqual(*p.Before, *p.After)
	})
}
