package approach

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func box(w, s, e, n float64) orb.Bound { return orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}} }

// A lake lies between path and patch, across all legs from the start's side. It
// ends at x = 1200: a leg from (x, 0) to (700, 1000) is at 0.8 x + 140 where it
// passes 200 m up, so it is dry from x = 1325 on.
func TestWaterForcesTheWayRound(t *testing.T) {
	ways := []Way{{Line: orb.LineString{{0, 0}, {2000, 0}}}}
	starts := []Start{{Point: orb.Point{0, 0}}}
	target := at(700, 1000)
	for _, c := range []struct {
		name string
		bits uint8
		why  string
	}{
		{"open water", WaterBit, "no dry way found"},
		{"closed ground", ClosedBit, "no open way found"},
		{"both", WaterBit | ClosedBit, "no way found that is dry and open"},
	} {
		t.Run(c.name, func(t *testing.T) {
			free, _ := build(t, ways, starts, meadow(), Options{})
			n, _ := build(t, ways, starts, meadow().flood(box(50, 100, 1200, 200), c.bits), Options{})
			direct, round := free.To(target), n.To(target)
			if !round.OK || round.EffortM < direct.EffortM+100 {
				t.Fatalf("effort %g round the lake, %g without it", round.EffortM, direct.EffortM)
			}
			// The path is cut every 60 m at most: so much may be lost.
			if leave := round.Line[len(round.Line)-2]; leave[0] < 1325 || leave[0] > 1325+pieceM {
				t.Errorf("left at %v, want x from 1325", leave)
			}
			island := meadow().flood(box(500, 800, 900, 1200), c.bits)
			inner := island.WaterPlane.Cell
			island.WaterPlane = &WaterPlane{Frame: island.Frame, Cell: func(x, y int) uint8 {
				e, n := island.Frame.Center(x, y)
				if box(650, 950, 750, 1050).Contains(orb.Point{e, n}) {
					return 0
				}
				return inner(x, y)
			}}
			n, _ = build(t, ways, starts, island, Options{})
			if w := n.To(target); w.OK || !strings.Contains(w.Why, c.why) {
				t.Errorf("an island: %+v, want %q", w, c.why)
			}
		})
	}
}

func TestPathsInWater(t *testing.T) {
	starts := []Start{{Point: orb.Point{0, 0}}}
	line := orb.LineString{{0, 0}, {1000, 0}}
	for _, c := range []struct {
		name      string
		way       Way
		width     float64 // of the water across the way
		brook     bool    // a mapped stream in it
		o         Options
		crossings int
		walked    bool
		warned    bool
	}{
		{"a ford", Way{Line: line}, 20, false, Options{}, 1, true, false},
		{"a ford with its stream mapped", Way{Line: line}, 20, true, Options{}, 1, true, false},
		{"a wide river", Way{Line: line}, 60, true, Options{}, 0, false, true},
		{"a wide river and a larger bound", Way{Line: line}, 60, true, Options{WetPathM: 80}, 1, true, false},
		{"a bridge", Way{Line: line, Bridge: true}, 60, true, Options{}, 0, true, false},
		{"a road", Way{Line: line, Kind: Road}, 60, true, Options{}, 0, true, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			g := meadow()
			if c.brook {
				g = meadow(orb.LineString{{505.5, -900}, {505.5, 900}})
			}
			// From one end of the map to the other: no way round.
			g = g.flood(box(500, -2000, 500+c.width, 4000), WaterBit)
			n, warnings := build(t, []Way{c.way}, starts, g, c.o)
			w := n.To(at(1000, 0))
			if w.OK != c.walked || w.Crossings != c.crossings || w.OK && !near(w.PathM, 1000) {
				t.Errorf("got %+v, want walked %t, %d crossings", w, c.walked, c.crossings)
			}
			if got := strings.Contains(strings.Join(warnings, "\n"), "in open water"); got != c.warned {
				t.Errorf("warnings %q", warnings)
			}
		})
	}
}

// Two ends that face each other across a stream too wide to step over.
func TestLooseEndsAreNotJoinedThroughWater(t *testing.T) {
	ways := []Way{{Line: orb.LineString{{0, 0}, {495, 0}}}, {Line: orb.LineString{{515, 0}, {1000, 0}}}}
	starts := []Start{{Point: orb.Point{0, 0}}}
	n, warnings := build(t, ways, starts, meadow().flood(box(500, -2000, 510, 4000), WaterBit), Options{})
	if w := n.To(at(1000, 0)); w.OK {
		t.Errorf("a walk through water: %+v", w)
	}
	if !strings.Contains(strings.Join(warnings, "\n"), "2 loose ends of paths and roads not joined") {
		t.Errorf("warnings %q", warnings)
	}
	// A lot across the water reaches the path on its own side, though it is farther.
	ways = []Way{{Line: orb.LineString{{0, 0}, {495, 0}}}, {Line: orb.LineString{{700, -500}, {700, 500}}}}
	n, _ = build(t, ways, []Start{{Point: orb.Point{515, 0}}}, meadow().flood(box(500, -2000, 510, 4000), WaterBit), Options{})
	if w := n.To(at(700, 490)); !w.OK || !near(w.StraightM, 185) || !near(w.PathM, 490) {
		t.Errorf("walk from the far bank: %+v, want 185 m straight and 490 m of path", w)
	}
}

func TestClimb(t *testing.T) {
	line := orb.LineString{{0, 0}, {3000, 0}}
	for _, c := range []struct {
		name     string
		height   func(x float64) float64
		up, down float64
	}{
		{"level", func(float64) float64 { return 200 }, 0, 0},
		{"up a plane", func(x float64) float64 { return x / 10 }, 300, 0},
		{"down a plane", func(x float64) float64 { return -x / 10 }, 0, 300},
		{"over a hill", func(x float64) float64 { return 100 - math.Abs(x-1500)/15 }, 100, 100},
		{"noise of half a metre", func(x float64) float64 { return 200 + 0.49*math.Cos(x/30*math.Pi) }, 0, 0},
		{"the same, from below", func(x float64) float64 { return 200 - 0.49*math.Cos(x/30*math.Pi) }, 0, 0},
		{"a gap", func(x float64) float64 {
			if x > 1000 && x < 2000 {
				return math.NaN()
			}
			return x / 10
		}, 300, 0},
		{"one height", func(x float64) float64 {
			if x > 0 {
				return math.NaN()
			}
			return 1
		}, math.NaN(), math.NaN()},
	} {
		up, down := climb(line, func(p orb.Point) float64 { return c.height(p[0]) })
		same := func(a, b float64) bool { return math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) < 1e-9 }
		if !same(up, c.up) || !same(down, c.down) {
			t.Errorf("%s: up %g, down %g m; want %g, %g", c.name, up, down, c.up, c.down)
		}
	}
	read := 0
	climb(orb.LineString{{0, 0}, {50, 0}, {50, 50}}, func(orb.Point) float64 { read++; return 0 })
	if read != 5 { // 100 m in four steps of 25 m
		t.Errorf("%d heights read over 100 m, want 5", read)
	}
}

func TestCautions(t *testing.T) {
	dry, wet := Walk{OK: true}.Cautions(), Walk{OK: true, Crossings: 2}.Cautions()
	if len(wet) != len(dry)+1 || !strings.Contains(wet[0], "Never wade") {
		t.Errorf("a walk through streams says %q", wet)
	}
	if all := fmt.Sprint(dry); !strings.Contains(all, "local law") || !strings.Contains(all, "not known") {
		t.Errorf("a dry walk says %q", dry)
	}
}
