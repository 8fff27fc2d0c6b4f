package approach

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func TestPathsInClosedGround(t *testing.T) {
	starts := []Start{{Point: orb.Point{0, 0}}}
	line := orb.LineString{{0, 0}, {1000, 0}}
	for _, c := range []struct {
		name   string
		way    Way
		width  float64 // of the closed ground across the way
		bits   uint8
		o      Options
		walked bool
		warned bool
	}{
		{"a border that is off by a cell", Way{Line: line}, 20, ClosedBit, Options{}, true, false},
		{"a closed wood", Way{Line: line}, 60, ClosedBit, Options{}, false, true},
		{"a closed wood and a larger bound", Way{Line: line}, 60, ClosedBit, Options{ClosedPathM: 80}, true, false},
		{"a bridge within it", Way{Line: line, Bridge: true}, 60, ClosedBit, Options{}, false, true},
		{"a bridge over a river within it", Way{Line: line, Bridge: true}, 60, ClosedBit | WaterBit, Options{}, false, true},
		{"a road, taken to be public", Way{Line: line, Kind: Road}, 60, ClosedBit, Options{}, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			// From one end of the map to the other: no way round.
			g := meadow().flood(box(500, -2000, 500+c.width, 4000), c.bits)
			n, warnings := build(t, []Way{c.way}, starts, g, c.o)
			w := n.To(at(1000, 0))
			if w.OK != c.walked || w.OK && (!near(w.PathM, 1000) || w.Crossings != 0) {
				t.Errorf("got %+v, want walked %t", w, c.walked)
			}
			said := strings.Join(warnings, "\n")
			if strings.Contains(said, "0.1 km of paths run in ground closed to the public for more than 30 m and are not walked") != c.warned {
				t.Errorf("warnings %q", warnings)
			}
		})
	}
	// A brook of open water hides closed ground behind it from one who asks from this side.
	g := meadow().flood(box(500, -2000, 510, 4000), WaterBit).flood(box(510, -2000, 600, 4000), ClosedBit).flood(box(600, -2000, 610, 4000), WaterBit)
	n, warnings := build(t, []Way{{Line: line}}, starts, g, Options{})
	if w := n.To(at(1000, 0)); w.OK || !strings.Contains(strings.Join(warnings, "\n"), "closed to the public") {
		t.Errorf("closed ground between two brooks: %+v, warnings %q", w, warnings)
	}
}

// longestClosed is the longest stretch of a line, sampled every half metre,
// that lies in closed cells and on none of the roads.
func longestClosed(line orb.LineString, g land, roads []orb.LineString) (most float64) {
	const step = 0.5
	run := 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := math.Ceil(distance(a, b) / step)
		for k := 0.5; k < n; k++ {
			p := between(a, b, k/n)
			x, y, ok := g.Frame.At(p[0], p[1])
			in := ok && g.Cell(x, y)&ClosedBit != 0
			for _, r := range roads {
				for j := 1; in && j < len(r); j++ {
					_, d2 := onto(p, r[j-1], r[j])
					in = d2 > 1e-6
				}
			}
			if run += distance(a, b) / n; !in {
				run = 0
			}
			most = max(most, run)
		}
	}
	return most
}

// Whole walks over random counties, looked at step by step: none stays in
// closed ground but on roads; with the rule off many would.
func TestNoWalkThroughClosedGround(t *testing.T) {
	longer, walks := 0, 0
	for seed := range uint64(6) {
		r := rand.New(rand.NewPCG(51, seed))
		g := meadow()
		for range 12 {
			p := orb.Point{2000 * r.Float64(), 2000 * r.Float64()}
			g = g.flood(orb.Bound{Min: p, Max: orb.Point{p[0] + 40 + 300*r.Float64(), p[1] + 40 + 300*r.Float64()}}, WaterBit<<(min(r.IntN(4), 1)))
		}
		var ways []Way
		var roads []orb.LineString
		for i := range 40 {
			w := Way{Line: wander(r, 2000, 70, 6+r.IntN(20)), Kind: Kind(i % 4 / 3), Bridge: i%9 == 0}
			if ways = append(ways, w); w.Kind == Road {
				roads = append(roads, w.Line)
			}
		}
		var starts []Start
		for range 4 {
			starts = append(starts, Start{Point: orb.Point{2000 * r.Float64(), 2000 * r.Float64()}})
		}
		n, _ := build(t, ways, starts, g, Options{MaxStraightM: 400})
		lax, _ := build(t, ways, starts, g, Options{MaxStraightM: 400, ClosedPathM: 1e6})
		for range 60 {
			to := at(2000*r.Float64(), 2000*r.Float64())
			if w := n.To(to); w.OK {
				walks++
				if m := longestClosed(w.Line, g, roads); m > 30 {
					t.Errorf("seed %d: %.0f m through closed ground: %v", seed, m, w.Line)
				}
				sound(t, n, w)
			}
			if w := lax.To(to); w.OK && longestClosed(w.Line, g, roads) > 30 {
				longer++
			}
		}
	}
	if longer < 10 || walks < 60 {
		t.Errorf("%d walks, %d of them through closed ground with the rule off: the test is not sharp", walks, longer)
	}
}
