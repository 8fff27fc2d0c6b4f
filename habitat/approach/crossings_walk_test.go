package approach

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// Streams counted along the whole line of a walk, where all ways are paths on a
// lattice that streams share vertices with: each place once, whether in the
// middle of a piece, in a vertex or where the path is left.
func TestCrossingsOfWholeWalks(t *testing.T) {
	r := rand.New(rand.NewPCG(43, 44))
	lattice := func(n int) orb.LineString {
		p := orb.Point{float64(100 * r.IntN(20)), float64(100 * r.IntN(20))}
		line := orb.LineString{p}
		for range n {
			p[r.IntN(2)] += float64(100 * (2*r.IntN(2) - 1))
			line = append(line, p)
		}
		return line
	}
	several := 0
	for range 12 {
		var streams []orb.Geometry
		for i := range 12 {
			l := lattice(12)
			for k := range l { // streams run aslant, through every other vertex of the paths' lattice
				l[k][1] += float64(i%2) * 0.37 * l[k][0]
				l[k][0] += 50 * float64(k%2)
			}
			streams = append(streams, l)
		}
		var ways []Way
		for range 30 {
			ways = append(ways, Way{Line: lattice(15)})
		}
		starts := []Start{{Point: ways[0].Line[0]}, {Point: ways[1].Line[0]}}
		n, _ := build(t, ways, starts, meadow(streams...), Options{CrossingM: 40})
		for range 60 {
			w := n.To(at(2000*r.Float64(), 2000*r.Float64()))
			if !w.OK {
				continue
			}
			sound(t, n, w)
			var met [][2]float64 // places, and stretches that run along a stream
			gone := 0.0
			for i := 1; i < len(w.Line); i++ {
				a, b := w.Line[i-1], w.Line[i]
				for _, g := range streams {
					s := g.(orb.LineString)
					for k := 1; k < len(s); k++ {
						if s[k-1] == s[k] {
							continue
						}
						hits, m := meet(a, b, s[k-1], s[k])
						if m == 0 {
							continue
						}
						stretch := [2]float64{math.Inf(1), math.Inf(-1)}
						for _, h := range hits[:m] {
							where := gone + h.ta*distance(a, b)
							stretch = [2]float64{min(stretch[0], where), max(stretch[1], where)}
						}
						met = append(met, stretch)
					}
				}
				gone += distance(a, b)
			}
			slices.SortFunc(met, func(a, b [2]float64) int { return cmp.Compare(a[0], b[0]) })
			want, end := 0, math.Inf(-1)
			for _, m := range met {
				if m[0] > end+samePlaceM {
					want++
				}
				end = max(end, m[1])
			}
			if w.Crossings != want {
				t.Errorf("%d crossings, want %d along %v", w.Crossings, want, w.Line)
			}
			if want > 1 {
				several++
			}
		}
	}
	if several < 50 {
		t.Errorf("%d walks with several crossings: the test is not sharp", several)
	}
}
