package region

import (
	"fmt"
	"math"
)

// DistanceOf is the exact distance transform of a small grid in memory with
// cells cx wide and cy high (metres): w×h distances in metres between cell
// centres, +Inf everywhere when nothing is a seed. seeds is row-major.
// Felzenszwalb & Huttenlocher 2012, Theory of Computing 8:415–428.
func DistanceOf(w, h int, seeds []bool, cx, cy float64) []float64 {
	if len(seeds) != w*h {
		panic(fmt.Sprintf("region: %d seeds given for %d × %d cells", len(seeds), w, h))
	}
	out := make([]float64, w*h)
	const none = math.MaxInt32
	for x := range w {
		rows := none // to the nearest seed above
		for y := range h {
			if rows != none {
				rows++
			}
			if seeds[y*w+x] {
				rows = 0
			}
			out[y*w+x] = float64(rows)
		}
		rows = none // below
		for y := h - 1; y >= 0; y-- {
			if rows != none {
				rows++
			}
			if seeds[y*w+x] {
				rows = 0
			}
			g := min(out[y*w+x], float64(rows))
			if g == none {
				g = math.Inf(1)
			}
			out[y*w+x] = g * cy
		}
	}
	site, from, f := make([]int, w), make([]float64, w), make([]float64, w)
	for y := range h {
		row := out[y*w : (y+1)*w]
		q := -1
		for u, g := range row {
			f[u] = g * g
			if math.IsInf(g, 1) {
				continue
			}
			x := math.Inf(-1)
			for q >= 0 {
				s := site[q]
				// Where the parabolas of s and u cross, in columns.
				x = float64(u+s)/2 + (f[u]-f[s])/(2*cx*cx*float64(u-s))
				if x > from[q] {
					break
				}
				q--
			}
			if q < 0 {
				x = math.Inf(-1)
			}
			q++
			site[q], from[q] = u, x
		}
		if q < 0 {
			continue
		}
		k := 0
		for x := range row {
			for k < q && from[k+1] < float64(x) {
				k++
			}
			d := float64(x-site[k]) * cx
			row[x] = math.Sqrt(d*d + f[site[k]])
		}
	}
	return out
}

// NearestSeed gives, for each of the w×h cells, the position in seeds of the
// seed whose cell centre is nearest, −1 when seeds is empty. seeds lists cells
// as y*w+x, in any order. Among seeds equally near the one listed first wins,
// exactly: position and squared distance are minimised as one integer.
func NearestSeed(w, h int, seeds []int32) []int32 {
	out := make([]int32, w*h)
	for i := range out {
		out[i] = -1
	}
	if len(seeds) == 0 {
		return out
	}
	for i := len(seeds) - 1; i >= 0; i-- {
		out[seeds[i]] = int32(i) // the first of several seeds in one cell stays
	}
	// Down, then up: the nearest seed of the column, and how many rows away.
	rows := make([]int32, w*h)
	for y := range h {
		for x := range w {
			i := y*w + x
			if out[i] < 0 && y > 0 && out[i-w] >= 0 {
				out[i], rows[i] = out[i-w], rows[i-w]+1
			}
		}
	}
	// from below, kept apart from the answer of the row above it
	low, dist := make([]int32, w), make([]int32, w)
	for x := range low {
		low[x] = -1
	}
	n := int64(len(seeds))
	env, cost := newEnvelope(w), make([]int64, w)
	for y := h - 1; y >= 0; y-- {
		row, up := out[y*w:(y+1)*w], rows[y*w:(y+1)*w]
		for x := range w {
			if row[x] >= 0 && up[x] == 0 {
				low[x], dist[x] = row[x], 0
			} else if low[x] >= 0 {
				dist[x]++
				if row[x] < 0 || dist[x] < up[x] || dist[x] == up[x] && low[x] < row[x] {
					row[x], up[x] = low[x], dist[x]
				}
			}
			cost[x] = noSite
			if row[x] >= 0 {
				g, u := int64(up[x]), int64(x)
				cost[x] = n*(g*g+u*u) + int64(row[x])
			}
		}
		env.build(cost, n)
		for k := range env.n {
			end := w
			if k+1 < env.n {
				end = int(env.start[k+1])
			}
			at := int32(env.cost[k] % n) // the position, taken back out of the cost
			for x := int(env.start[k]); x < end; x++ {
				row[x] = at
			}
		}
	}
	return out
}
