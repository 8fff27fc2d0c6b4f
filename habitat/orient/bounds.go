package orient

import "math"

// bounds says what no plan can gather more than. Every site of a way costs at
// least half its shortest leg in and half its shortest leg out, and the start
// likewise; so a plan is no better than minutes spent on pieces of stays where
// each site's first piece carries that cost: a knapsack whose pieces may be cut
// (Dantzig 1957), after the concave hull of each site's stay with its way.
type bounds struct {
	p      *Problem
	near   [][]float64
	ids    []int     // sites looked at; labels count in these
	in     []float64 // half the shortest leg into, by place in ids
	out    []float64 // and out of
	in0    float64   // the same of the start
	out0   float64
	pieces []piece // of all, steepest first; site is the place in ids
}

func newBounds(p *Problem, near [][]float64, ids []int) *bounds {
	b := &bounds{p: p, near: near, ids: ids, in0: math.Inf(1), out0: math.Inf(1)}
	for _, i := range ids {
		in, out := near[0][i+1], near[i+1][0]
		b.in0, b.out0 = min(b.in0, out/2), min(b.out0, in/2)
		for _, j := range ids {
			if j != i {
				in, out = min(in, near[j+1][i+1]), min(out, near[i+1][j+1])
			}
		}
		b.in, b.out = append(b.in, in/2), append(b.out, out/2)
	}
	for k, i := range ids {
		left := p.Budget - near[0][i+1] - near[i+1][0] // no stay is longer
		var stay []Segment
		for _, g := range p.Sites[i] {
			if t := min(g.Minutes, left); t > 0 {
				stay = append(stay, Segment{t, g.Value * t / g.Minutes})
				left -= t
			}
		}
		for _, g := range stay {
			b.pieces = append(b.pieces, piece{site: k, minutes: g.Minutes, value: g.Value, raw: true})
		}
		for _, g := range hull(b.in[k]+b.out[k], stay) {
			b.pieces = append(b.pieces, piece{site: k, minutes: g.Minutes, value: g.Value, hull: true})
		}
	}
	sortPieces(b.pieces)
	return b
}

// hull is the concave hull of a stay that begins after a cost.
func hull(cost float64, stay []Segment) []Segment {
	t, v, best, at := cost, 0.0, -1.0, -1
	var first Segment
	for k, g := range stay {
		t, v = t+g.Minutes, v+g.Value
		if t > 0 && v/t > best {
			best, at, first = v/t, k, Segment{t, v}
		}
	}
	if at < 0 {
		return nil
	}
	return append([]Segment{first}, stay[at+1:]...)
}

// fill spends minutes on the pieces: those of sites in paid as they are, of
// the others with their cost, or as they are too when all is paid.
func (b *bounds) fill(minutes float64, paid func(k int) bool, all bool) float64 {
	value := 0.0
	for _, q := range b.pieces {
		if minutes <= 0 {
			break
		}
		if q.raw != (all || paid(q.site)) {
			continue
		}
		t := min(q.minutes, minutes)
		value += q.value * t / q.minutes
		minutes -= t
	}
	return value
}

// forced bounds the plans that stay at a site (its own number).
func (b *bounds) forced(site int) float64 {
	at := -1
	for k, i := range b.ids {
		if i == site {
			at = k
		}
	}
	paid := func(k int) bool { return k == at }
	spread := b.fill(b.p.Budget-b.in0-b.out0-b.in[at]-b.out[at], paid, false)
	return min(spread, b.fill(b.p.Budget-b.near[0][site+1]-b.near[site+1][0], paid, true))
}

// grow gives the ways of k+1 sites that may gather more than value.
func (b *bounds) grow(layers [][]label, k int, value float64) []label {
	var next []label
	index := map[state]int{}
	add := func(l label) {
		if !fits(l.time+b.near[b.ids[l.last]+1][0], b.p.Budget) {
			return
		}
		s := state{l.set, l.last}
		if at, there := index[s]; there {
			if l.time < next[at].time {
				l.bound = b.label(&l)
				next[at] = l
			}
			return
		}
		if l.bound = b.label(&l); !l.beyond(value) {
			return
		}
		index[s] = len(next)
		next = append(next, l)
	}
	if k == 0 {
		for i, id := range b.ids {
			add(label{set: with([2]uint64{}, i), last: i, time: b.p.Legs[0][id+1], parent: -1})
		}
		return next
	}
	for at := range layers[k-1] {
		l := &layers[k-1][at]
		if !l.beyond(value) {
			continue
		}
		row := b.p.Legs[b.ids[l.last]+1]
		for i, id := range b.ids {
			if !has(l.set, i) {
				add(label{set: with(l.set, i), last: i, time: l.time + row[id+1], parent: at})
			}
		}
	}
	return next
}

// label bounds what a way can still become.
func (b *bounds) label(l *label) float64 {
	paid := func(k int) bool { return has(l.set, k) }
	left := b.p.Budget - l.time
	spread := b.fill(left-b.out[l.last]-b.in0, paid, false)
	return min(spread, b.fill(left-b.near[b.ids[l.last]+1][0], paid, true))
}

// complete is what a way gathers when it goes back to the start.
func (b *bounds) complete(l *label) (value, walking float64) {
	walking = l.time + b.p.Legs[b.ids[l.last]+1][0]
	if !fits(walking, b.p.Budget) {
		return math.Inf(-1), walking
	}
	left := b.p.Budget - walking
	for _, q := range b.pieces {
		if left <= 0 {
			break
		}
		if q.raw && has(l.set, q.site) {
			t := min(q.minutes, left)
			value += q.value * t / q.minutes
			left -= t
		}
	}
	return value, walking
}

func (b *bounds) named(order []int) []int {
	for k, i := range order {
		order[k] = b.ids[i]
	}
	return order
}
