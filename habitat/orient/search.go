package orient

import (
	"math"
	"math/rand/v2"
	"slices"
)

// shakes is how often the best way is shaken; the seed is fixed.
const shakes = 60

// search finds a good way: sites are put in where they gain most, the order is
// improved by turning and moving pieces of it (2-opt and Or-opt), sites are
// exchanged, and what is found is shaken and improved again.
func search(p *Problem, ids []int, rounds int) []int {
	if len(ids) == 0 {
		return nil
	}
	f := newFiller(p)
	best := improve(f, ids, nil)
	v, w := f.worth(best)
	r := rand.New(rand.NewPCG(1, uint64(len(ids))))
	for range rounds {
		if len(best) == 0 {
			break
		}
		order := slices.Clone(best)
		for range 1 + r.IntN(max(1, len(order)/2)) {
			if len(order) > 0 {
				at := r.IntN(len(order))
				order = slices.Delete(order, at, at+1)
			}
		}
		if at := ids[r.IntN(len(ids))]; !slices.Contains(order, at) {
			trial := slices.Insert(slices.Clone(order), r.IntN(len(order)+1), at)
			if p.walk(trial) <= p.Budget {
				order = trial
			}
		}
		order = improve(f, ids, order)
		if nv, nw := f.worth(order); better(nv, nw, v, w) {
			best, v, w = order, nv, nw
		}
	}
	return best
}

// improve takes the best of all small changes until none is better.
func improve(f *filler, ids, order []int) []int {
	p := f.p
	v, w := f.worth(order)
	for {
		var next []int
		try := func(trial []int) {
			if p.walk(trial) > p.Budget+tiny {
				return
			}
			if nv, nw := f.worth(trial); better(nv, nw, v, w) {
				next, v, w = slices.Clone(trial), nv, nw
			}
		}
		for i := range order { // turn a piece round
			for j := i + 1; j < len(order); j++ {
				trial := slices.Clone(order)
				slices.Reverse(trial[i : j+1])
				try(trial)
			}
		}
		for i := range order { // move one
			rest := slices.Delete(slices.Clone(order), i, i+1)
			try(rest)
			for j := range len(rest) + 1 {
				try(slices.Insert(slices.Clone(rest), j, order[i]))
			}
		}
		for _, s := range ids { // put one in, or in place of another
			if slices.Contains(order, s) {
				continue
			}
			for j := range len(order) + 1 {
				try(slices.Insert(slices.Clone(order), j, s))
			}
			for j := range order {
				trial := slices.Clone(order)
				trial[j] = s
				try(trial)
			}
		}
		if next == nil {
			return order
		}
		order = next
	}
}

// filler tells what ways are worth, the pieces of all stays being sorted once.
type filler struct {
	p      *Problem
	pieces []piece
	in     []bool
}

func newFiller(p *Problem) *filler {
	f := &filler{p: p, in: make([]bool, len(p.Sites))}
	for i, s := range p.Sites {
		for _, g := range s {
			f.pieces = append(f.pieces, piece{site: i, minutes: g.Minutes, value: g.Value})
		}
	}
	sortPieces(f.pieces)
	return f
}

// worth is Problem.worth.
func (f *filler) worth(order []int) (value, walking float64) {
	walking = f.p.walk(order)
	left := f.p.Budget - walking
	if left < -tiny {
		return math.Inf(-1), walking
	}
	for _, i := range order {
		f.in[i] = true
	}
	for _, q := range f.pieces {
		if left <= 0 {
			break
		}
		if f.in[q.site] {
			t := min(q.minutes, left)
			value += q.value * t / q.minutes
			left -= t
		}
	}
	for _, i := range order {
		f.in[i] = false
	}
	return value, walking
}
