package orient

import (
	"math"
	"slices"
	"sort"
)

// With up to ExactSites sites, all subsets are gone through and the plan is
// proven; beyond, the most promising labels of each length are kept and what
// the others might have gathered bounds what may be missed.
const (
	ExactSites = 16
	mostLabels = 20_000
	mostSites  = 128
)

// label is a way so far: which sites, the last of them, and the least minutes.
type label struct {
	set    [2]uint64
	last   int
	time   float64
	parent int // in the layer before
	bound  float64
}

type state struct {
	set  [2]uint64
	last int
}

func has(s [2]uint64, i int) bool          { return s[i>>6]>>(i&63)&1 != 0 }
func with(s [2]uint64, i int) [2]uint64    { s[i>>6] |= 1 << (i & 63); return s }
func (l *label) beyond(value float64) bool { return l.bound > value+tiny*max(1, value) }
func fits(minutes, budget float64) bool    { return minutes <= budget+tiny }
func orderOf(layers [][]label, k, at int) []int {
	var out []int
	for ; k >= 0; k-- {
		l := layers[k][at]
		out = append(out, l.last)
		at = l.parent
	}
	slices.Reverse(out)
	return out
}

// Solve plans the day. The same problem gives the same plan. A problem that is
// none is an error.
//
// Ways grow by a site at a time (dynamic programming over sets, Held and Karp
// 1962): of two with the same sites and the same end the shorter counts. One
// that cannot gather more than the best known plan, by the bound of bounds.go,
// is left out. The first plan comes from the heuristic of search.go.
func Solve(p Problem) (Plan, error) {
	if err := p.check(); err != nil {
		return Plan{}, err
	}
	n := len(p.Sites)
	near := closure(p.Legs)
	var ids []int // sites that can be reached and back with time to stay
	for i := range n {
		if near[0][i+1]+near[i+1][0] < p.Budget-tiny && len(p.Sites[i]) > 0 {
			ids = append(ids, i)
		}
	}
	rounds := shakes
	if n <= ExactSites {
		rounds = 0 // all subsets are gone through anyway
	}
	best := search(&p, ids, rounds)
	value, walking := p.worth(best)
	out := Plan{Bound: value}
	b := newBounds(&p, near, ids)
	// Sites that no better plan can hold are put aside, until none goes.
	for {
		var kept []int
		for _, i := range ids {
			if u := b.forced(i); u > value+tiny*max(1, value) {
				kept = append(kept, i)
			}
		}
		if len(kept) == len(ids) {
			break
		}
		ids = kept
		b = newBounds(&p, near, ids)
	}
	if len(ids) > mostSites {
		rank := slices.Clone(ids)
		sort.SliceStable(rank, func(a, c int) bool { return b.forced(rank[a]) > b.forced(rank[c]) })
		for _, i := range rank[mostSites:] {
			out.Bound = max(out.Bound, b.forced(i))
		}
		ids = rank[:mostSites]
		slices.Sort(ids)
		b = newBounds(&p, near, ids)
	}
	width := math.MaxInt
	if len(ids) > ExactSites {
		width = mostLabels
	}
	var layers [][]label
	for k := 0; ; k++ {
		next := b.grow(layers, k, value)
		if len(next) == 0 {
			break
		}
		for i := range next {
			l := &next[i]
			v, w := b.complete(l)
			if better(v, w, value, walking) {
				layers = append(layers, next)
				best, value, walking = b.named(orderOf(layers, k, i)), v, w
				layers = layers[:k]
			}
		}
		if len(next) > width {
			at := make([]int, len(next))
			for i := range at {
				at[i] = i
			}
			sort.SliceStable(at, func(x, y int) bool { return next[at[x]].bound > next[at[y]].bound })
			out.Bound = max(out.Bound, next[at[width]].bound)
			kept := make([]label, width)
			for i := range kept {
				kept[i] = next[at[i]]
			}
			next = kept
		}
		layers = append(layers, next)
	}
	out.Order, out.Value = best, value
	out.trim(&p)
	out.Bound = max(out.Bound, out.Value)
	out.Proven = out.Bound <= out.Value+1e-7*max(1, out.Value)
	return out, nil
}

// trim works out the stays, and leaves out sites where there is none unless
// the way is shorter through them.
func (o *Plan) trim(p *Problem) {
	for {
		o.Walking = p.walk(o.Order)
		o.Value, o.Minutes = p.stays(o.Order, p.Budget-o.Walking)
		cut := -1
		for k, m := range o.Minutes {
			if m > tiny {
				continue
			}
			if p.walk(slices.Delete(slices.Clone(o.Order), k, k+1)) <= o.Walking+tiny {
				cut = k
				break
			}
		}
		if cut < 0 {
			return
		}
		o.Order = slices.Delete(slices.Clone(o.Order), cut, cut+1)
	}
}

// closure is the least minutes between all pairs, by way of others too.
func closure(legs [][]float64) [][]float64 {
	n := len(legs)
	d := make([][]float64, n)
	for i := range d {
		d[i] = slices.Clone(legs[i])
		d[i][i] = 0
	}
	for k := range n {
		for i := range n {
			for j := range n {
				if via := d[i][k] + d[k][j]; via < d[i][j] {
					d[i][j] = via
				}
			}
		}
	}
	return d
}
