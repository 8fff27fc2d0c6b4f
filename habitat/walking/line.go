package walking

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Walk is the way between two nodes.
type Walk struct {
	Seconds     float64
	Line        orb.LineString // metres, frame CRS, in the direction walked
	PathM, OffM float64
	UpM, DownM  float64
	Crossings   int // of streams off a bridge: 0 unless wading is allowed
	nodes       []int32
	how         []kind // between the nodes
}

// Walk gives the way from (or to) a node; ok is false where there is none.
func (r *Reach) Walk(node int32) (walk Walk, ok bool) {
	if math.IsInf(float64(r.seconds[node]), 1) {
		return walk, false
	}
	w := r.net
	walk.Seconds = float64(r.seconds[node])
	for v := node; v >= 0; v = r.before[v] {
		walk.nodes = append(walk.nodes, v)
		if r.before[v] >= 0 {
			walk.how = append(walk.how, r.how[v])
		}
	}
	if !r.toward {
		slices.Reverse(walk.nodes)
		slices.Reverse(walk.how)
	}
	for i, v := range walk.nodes {
		p := w.Point(v)
		walk.Line = append(walk.Line, p)
		if i == 0 {
			continue
		}
		q := walk.Line[i-1]
		d := math.Hypot(p[0]-q[0], p[1]-q[1])
		if walk.how[i-1] != offPath {
			walk.PathM += d
			if walk.how[i-1] == ford {
				walk.Crossings++
			}
		} else {
			walk.OffM += d
			if w.o.Wade {
				walk.Crossings += w.streams.Crossings(p, q)
			}
		}
		switch rise := w.height(v) - w.height(walk.nodes[i-1]); {
		case rise != rise: // beyond the heights
		case rise > 0:
			walk.UpM += rise
		default:
			walk.DownM -= rise
		}
	}
	walk.Line = straight(walk.Line)
	return walk, true
}

// straight drops points that lie on the line between their neighbours, to 5 cm.
func straight(line orb.LineString) orb.LineString {
	if len(line) < 3 {
		return line
	}
	out := line[:1:1]
	for i := 1; i < len(line)-1; i++ {
		a, p, b := out[len(out)-1], line[i], line[i+1]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		dot := (p[0]-a[0])*(b[0]-a[0]) + (p[1]-a[1])*(b[1]-a[1])
		if off := math.Abs((b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])); off > 0.05*d || dot < 0 || dot > d*d {
			out = append(out, p)
		}
	}
	return append(out, line[len(line)-1])
}

// Pieces splits cells into those that one may walk between without leaving
// them: a stream divides a patch. Barred cells belong to none. The largest
// comes first, of equal ones the one with the lower cell.
func (w *Net) Pieces(cells []int) [][]int {
	f := w.g.Frame
	mine := map[int]bool{}
	for _, c := range cells {
		if w.open(c) {
			mine[c] = true
		}
	}
	sorted := slices.Clone(cells)
	slices.Sort(sorted)
	var out [][]int
	for _, c := range sorted {
		if !mine[c] {
			continue
		}
		delete(mine, c)
		piece := []int{c}
		for i := 0; i < len(piece); i++ {
			for k := range 8 {
				if to, ok := w.step(piece[i]%f.W, piece[i]/f.W, k); ok && mine[to] {
					delete(mine, to)
					piece = append(piece, to)
				}
			}
		}
		out = append(out, piece)
	}
	slices.SortStableFunc(out, func(a, b []int) int { return len(b) - len(a) })
	return out
}
