// Package orient chooses which sites to visit from a start, in which order and
// for how long, so that the value gathered within a time is greatest: the
// orienteering problem (Tsiligirides 1984; Golden, Levy, Vohra 1987), with the
// stay at each site free and its value concave in the stay. It knows no maps.
//
// What is modelled, and solved for: legs take the times of a matrix, which may
// differ by direction; a stay gathers the site's segments in order, a part of
// the last one in proportion; the way ends where it began, within the budget.
package orient

import (
	"fmt"
	"math"
	"sort"
)

// Segment is a piece of a stay: Minutes long, gathering Value evenly.
type Segment struct{ Minutes, Value float64 }

// Site is a place to stay at. Its segments gather ever less a minute.
type Site []Segment

// Problem is one day. Legs[i][j] is the minutes from i to j, +Inf where there
// is no way; 0 is the start and i the site i−1.
type Problem struct {
	Legs   [][]float64
	Sites  []Site
	Budget float64 // minutes
}

// Plan is a way and its stays.
type Plan struct {
	Order   []int     // sites, from 0 on
	Minutes []float64 // stay at each
	Value   float64
	Walking float64 // minutes, the way back counted in
	Bound   float64 // no plan gathers more
	Proven  bool    // none gathers more than this one, but for rounding
}

// Gap is by how much of the bound the plan may fall short.
func (p Plan) Gap() float64 {
	if p.Proven || !(p.Bound > 0) {
		return 0
	}
	return max(0, 1-p.Value/p.Bound)
}

const tiny = 1e-9

func (p *Problem) check() error {
	n := len(p.Sites)
	if len(p.Legs) != n+1 {
		return fmt.Errorf("orient: %d rows of legs for %d sites", len(p.Legs), n)
	}
	for i, row := range p.Legs {
		if len(row) != n+1 {
			return fmt.Errorf("orient: row %d has %d legs for %d sites", i, len(row), n)
		}
		for j, v := range row {
			if !(v >= 0) && i != j {
				return fmt.Errorf("orient: leg %d to %d takes %g minutes", i, j, v)
			}
		}
	}
	for i, s := range p.Sites {
		for k, g := range s {
			if !(g.Minutes > 0) || !(g.Value >= 0) || math.IsInf(g.Minutes+g.Value, 0) {
				return fmt.Errorf("orient: site %d, segment %d: %g minutes for %g", i, k, g.Minutes, g.Value)
			}
			if k > 0 && g.Value/g.Minutes > s[k-1].Value/s[k-1].Minutes*(1+1e-9) {
				return fmt.Errorf("orient: site %d, segment %d gathers more a minute than the one before", i, k)
			}
		}
	}
	if !(p.Budget >= 0) || math.IsInf(p.Budget, 1) {
		return fmt.Errorf("orient: a budget of %g minutes", p.Budget)
	}
	return nil
}

// walk is the minutes of a way from the start through sites and back.
func (p *Problem) walk(order []int) float64 {
	at, sum := 0, 0.0
	for _, i := range order {
		sum += p.Legs[at][i+1]
		at = i + 1
	}
	if len(order) == 0 {
		return 0
	}
	return sum + p.Legs[at][0]
}

// piece is a segment of a site in the list of all, steepest first.
type piece struct {
	site           int
	minutes, value float64
	raw, hull      bool // of a site whose way is paid, or of one that has yet to be reached
}

func sortPieces(list []piece) {
	sort.SliceStable(list, func(a, b int) bool {
		x, y := list[a].value*list[b].minutes, list[b].value*list[a].minutes
		if x != y {
			return x > y
		}
		return list[a].site < list[b].site
	})
}

// stays spends minutes on the pieces of the sites of a way, best first.
func (p *Problem) stays(order []int, minutes float64) (value float64, each []float64) {
	each = make([]float64, len(order))
	var list []piece
	for k, i := range order {
		for _, g := range p.Sites[i] {
			list = append(list, piece{site: k, minutes: g.Minutes, value: g.Value})
		}
	}
	sortPieces(list)
	for _, q := range list {
		if minutes <= 0 {
			break
		}
		t := min(q.minutes, minutes)
		value += q.value * t / q.minutes
		each[q.site] += t
		minutes -= t
	}
	return value, each
}

// worth is what a way gathers, −Inf where it takes too long.
func (p *Problem) worth(order []int) (value, walking float64) {
	walking = p.walk(order)
	if walking > p.Budget+tiny {
		return math.Inf(-1), walking
	}
	value, _ = p.stays(order, p.Budget-walking)
	return value, walking
}

// better orders plans by value, then by how little is walked.
func better(v, w, bestV, bestW float64) bool {
	if math.Abs(v-bestV) > tiny*max(1, math.Abs(bestV)) {
		return v > bestV
	}
	return w < bestW-tiny*max(1, bestW)
}
