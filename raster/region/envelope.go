package region

import "math"

// noSite marks a column that has no parabola.
const noSite = math.MaxInt64

// envelope is the lower envelope of the parabolas scale·(x−s)² + f(s), all of
// one curvature, over the integers 0 … w−1: site[k] is lowest from start[k] up
// to start[k+1].
type envelope struct {
	w     int
	n     int
	site  []int32
	start []int32
	cost  []int64
}

func newEnvelope(w int) envelope {
	return envelope{w: w, site: make([]int32, w+1), start: make([]int32, w+1), cost: make([]int64, w+1)}
}

// build takes cost[s] = f(s) + scale·s² for each s, or noSite. Everything is
// integer: site u beats the earlier site s at x when
// 2·scale·x·(u−s) > cost[u] − cost[s] (Meijster, Roerdink & Hesselink 2000).
func (e *envelope) build(cost []int64, scale int64) {
	two := 2 * scale
	last := two * int64(e.w-1)
	site, start, stack := e.site, e.start[:len(e.site)], e.cost[:len(e.site)]
	q := -1
	for u, cu := range cost {
		if cu == noSite {
			continue
		}
		for q >= 0 && two*int64(start[q])*(int64(u)-int64(site[q])) > cu-stack[q] {
			q--
		}
		if q < 0 {
			q = 0
			site[0], start[0], stack[0] = int32(u), 0, cu
			continue
		}
		d, num := int64(u)-int64(site[q]), cu-stack[q]
		if last*d <= num {
			continue // not lower anywhere in the row
		}
		var x int64
		if d == 1 && scale == 1 {
			x = num>>1 + 1
		} else {
			x = num/(two*d) + 1
		}
		q++
		site[q], start[q], stack[q] = int32(u), int32(x), cu
	}
	e.n = q + 1
}

// distances writes √((x−s)² + f(s))·cell for every x, +Inf when there is no site.
// The costs were built with scale 1.
func (e *envelope) distances(out []float32, cell float64) {
	if e.n == 0 {
		for x := range out {
			out[x] = float32(math.Inf(1))
		}
		return
	}
	for k := range e.n {
		s := int64(e.site[k])
		f := e.cost[k] - s*s
		end := len(out)
		if k+1 < e.n {
			end = int(e.start[k+1])
		}
		x0 := int(e.start[k])
		d := int64(x0) - s
		for i := range out[x0:end] {
			out[x0+i] = float32(math.Sqrt(float64(d*d+f)) * cell)
			d++
		}
	}
}
