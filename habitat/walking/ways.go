package walking

import (
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/approach"
)

// layWays cuts ways into pieces no longer than a cell and joins them: where
// they share a vertex, where vertices of two ways lie within a cell of each
// other with no stream between, and to the cell they run in.
func (w *Net) layWays() {
	f := w.g.Frame
	type spot [2]int64
	at := map[spot]int32{}
	joined := map[int32]bool{} // vertices one may leave and join
	node := func(p orb.Point) int32 {
		s := spot{int64(math.Round(p[0] * 10)), int64(math.Round(p[1] * 10))}
		v, there := at[s]
		if !there {
			v = int32(len(w.points))
			at[s] = v
			w.points, w.rises, w.edges = append(w.points, p), append(w.rises, w.heightAt(p)), append(w.edges, nil)
		}
		return v
	}
	cells := int32(f.Cells())
	wayOf := map[int32]int{} // a way of each vertex, for joins between different ones
	for k, way := range w.g.Ways {
		if way.Closed || len(way.Line) < 2 {
			continue
		}
		line := cut(way.Line, f.Cell)
		bars := make([]uint8, len(line)-1)
		for i := range bars {
			bars[i] = w.barsAt(along(line[i], line[i+1], 0.5))
		}
		wet, shut, strip := runs(line, bars, Water), runs(line, bars, Closed), runs(line, bars, KeepOut)
		last := int32(-1)
		for i, p := range line {
			if _, _, inside := f.At(p[0], p[1]); !inside {
				last = -1
				continue
			}
			v := node(p)
			if _, known := wayOf[v]; !known {
				wayOf[v] = k
			}
			if !way.Bridge || i == 0 || i == len(line)-1 {
				joined[v] = true
			}
			if last >= 0 && last != v && w.walked(way, line[i-1], p, wet[i-1], shut[i-1], strip[i-1]) {
				how := path
				if way.Kind == approach.Path && !way.Bridge && w.streams.Crossings(line[i-1], p) > 0 {
					how = ford
				}
				w.edges[last] = append(w.edges[last], edge{cells + v, how})
				w.edges[v] = append(w.edges[v], edge{cells + last, how})
			}
			last = v
		}
	}
	near := map[int][]int32{}
	for v := range w.points {
		if !joined[int32(v)] {
			continue
		}
		p := w.points[v]
		x, y, _ := f.At(p[0], p[1])
		cell := y*f.W + x
		if w.open(cell) {
			e, n := f.Center(x, y)
			if w.o.Wade || w.streams.Crossings(p, orb.Point{e, n}) == 0 {
				w.edges[v] = append(w.edges[v], edge{int32(cell), offPath})
				w.cells[int32(cell)] = append(w.cells[int32(cell)], int32(v))
			}
		}
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				if x+dx < 0 || x+dx >= f.W {
					continue
				}
				for _, u := range near[cell+dy*f.W+dx] {
					q := w.points[u]
					if wayOf[u] == wayOf[int32(v)] || math.Hypot(p[0]-q[0], p[1]-q[1]) > f.Cell || !w.o.Wade && w.streams.Crossings(p, q) > 0 {
						continue
					}
					w.edges[v] = append(w.edges[v], edge{cells + u, offPath})
					w.edges[u] = append(w.edges[u], edge{cells + int32(v), offPath})
				}
			}
		}
		near[cell] = append(near[cell], int32(v))
	}
}

// walked tells whether a piece of a way may be walked.
func (w *Net) walked(way approach.Way, a, b orb.Point, wet, shut, strip float64) bool {
	if way.Kind == approach.Road || way.Bridge {
		return way.Kind == approach.Road || shut <= closedPathM
	}
	return wet <= wetPathM && shut <= closedPathM && strip <= stripPathM && (w.o.Wade || w.streams.Crossings(a, b) == 0)
}

func (w *Net) barsAt(p orb.Point) uint8 {
	x, y, ok := w.g.Frame.At(p[0], p[1])
	if !ok {
		return 0
	}
	return w.g.Bars[y*w.g.Frame.W+x]
}

// runs gives for each piece how many metres of the line run on in ground with
// a bar, 0 where the piece is in none.
func runs(line orb.LineString, bars []uint8, bar uint8) []float64 {
	out := make([]float64, len(bars))
	for i := 0; i < len(bars); {
		if bars[i]&bar == 0 {
			i++
			continue
		}
		j, m := i, 0.0
		for ; j < len(bars) && bars[j]&bar != 0; j++ {
			m += math.Hypot(line[j+1][0]-line[j][0], line[j+1][1]-line[j][1])
		}
		for ; i < j; i++ {
			out[i] = m
		}
	}
	return out
}

// cut puts vertices into a line so that no side is longer than step.
func cut(line orb.LineString, step float64) orb.LineString {
	out := orb.LineString{line[0]}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		if !(d < 1e7) { // no way is so long
			out = append(out, b)
			continue
		}
		n := max(1, int(math.Ceil(d/step)))
		for k := 1; k <= n; k++ {
			out = append(out, along(a, b, float64(k)/float64(n)))
		}
	}
	return out
}
