package approach

import (
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

func at(x, y float64) Target { return Target{Border: []orb.Point{{x, y}}} }

func near(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

// Every case is worked by hand: a factor of 1.5 off the path, 300 m a crossing.
// The best place to turn off to a point h beside the path is h/√(1.5² − 1) =
// h/√1.25 before its foot; the effort is then foot + h·√1.25.
func TestWalksByHand(t *testing.T) {
	path := orb.LineString{{0, 0}, {1000, 0}}
	park := []Start{{Point: orb.Point{0, 0}, Name: "Low Lot", Kind: "parking"}}
	k := math.Sqrt(1.25)
	var uneven orb.LineString // sides of 50 m as far as 500, then one of 40
	for x := 0.0; x <= 500; x += 50 {
		uneven = append(uneven, orb.Point{x, 0})
	}
	for x := 540.0; x < 1000; x += 50 {
		uneven = append(uneven, orb.Point{x, 0})
	}
	uneven = append(uneven, orb.Point{1000, 0})
	brook := func(x float64) orb.Geometry { return orb.LineString{{x, -2000}, {x, 2000}} }
	for _, c := range []struct {
		name           string
		ways           []Way
		starts         []Start
		ground         land
		o              Options
		to             Target
		path, straight float64
		crossings      int
		effort         float64
		why            string
		leave          orb.Point // the last vertex but one, when x is not NaN
	}{
		{
			name: "along a path, then off it", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: at(800, 100),
			path: 800 - 100/k, straight: 150 / k, effort: 800 + 100*k, leave: orb.Point{800 - 100/k, 0},
		},
		{
			name: "beyond the path's end", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: at(1400, 300),
			path: 1000, straight: 500, effort: 1750, leave: orb.Point{1000, 0},
		},
		{
			name: "a patch on the path", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: at(700, 0),
			path: 700, effort: 700, leave: orb.Point{0, 0},
		},
		{
			// Border points 40 m apart, on a square from x = 600: within 20 m of the one at
			// (600, −12) from 600 − 16 m on.
			name: "a path through a patch", ways: []Way{{Line: path}}, starts: park, ground: meadow(),
			to:   Target{Border: []orb.Point{{600, -12}, {600, -52}, {640, -52}, {680, -52}, {680, -12}, {680, 28}, {640, 28}, {600, 28}}},
			path: 584, effort: 584, leave: orb.Point{0, 0},
		},
		{
			name: "a brook between path and patch, nearer than half a gap", ways: []Way{{Line: path}}, starts: park, ground: meadow(orb.LineString{{-5000, 5}, {5000, 5}}),
			to:   Target{Border: []orb.Point{{600, 12}, {600, 52}, {640, 52}, {640, 12}}},
			path: 584, effort: 884, crossings: 1,
		},
		{
			name: "a path that meets a brook", ways: []Way{{Line: path}}, starts: park, ground: meadow(brook(500.3)), to: at(800, 0),
			path: 800, crossings: 1, effort: 1100, leave: orb.Point{500, 0},
		},
		{
			name: "a brook that shares a vertex with the path", ways: []Way{{Line: orb.LineString{{0, 0}, {500, 0}, {1000, 0}}}}, starts: park,
			ground: meadow(orb.LineString{{500, -2000}, {500, 0}, {500, 2000}}), to: at(800, 0), path: 800, crossings: 1, effort: 1100,
		},
		{
			name: "a bridge over it", ways: []Way{{Line: orb.LineString{{0, 0}, {480, 0}}}, {Line: orb.LineString{{480, 0}, {520, 0}}, Bridge: true}, {Line: orb.LineString{{520, 0}, {1000, 0}}}},
			starts: park, ground: meadow(brook(500.3)), to: at(800, 0), path: 800, effort: 800,
		},
		{
			name: "a road over it", ways: []Way{{Line: path, Kind: Road}}, starts: park, ground: meadow(brook(500.3)), to: at(800, 0), path: 800, effort: 800,
		},
		{
			name: "a brook beside the path", ways: []Way{{Line: path}}, starts: park, ground: meadow(orb.LineString{{-500, 50}, {1500, 50}}), to: at(800, 100),
			path: 800 - 100/k, straight: 150 / k, crossings: 1, effort: 1100 + 100*k,
		},
		{
			// 60 m at 1.5 beyond the far end costs less than the brook's 300 m.
			name: "round the end of a brook", ways: []Way{{Line: orb.LineString{{0, 0}, {900, 0}}}}, starts: park,
			ground: meadow(orb.LineString{{-500, 50}, {880, 50}}), to: at(900, 80), path: 900, straight: 80, effort: 1020, o: Options{StraightFactor: 1.5},
		},
		{
			name: "a closed path", ways: []Way{{Line: path, Closed: true}}, starts: park, ground: meadow(), to: at(800, 600), straight: 1000, effort: 1500,
		},
		{
			name: "no path at all", starts: park, ground: meadow(), to: at(300, 400), straight: 500, effort: 750,
		},
		{
			name: "a lot beside the path", ways: []Way{{Line: path}}, starts: []Start{{Point: orb.Point{0, -20}}}, ground: meadow(), to: at(700, 0), path: 720, effort: 720,
		},
		{
			name: "a lot off the path", ways: []Way{{Line: path}}, starts: []Start{{Point: orb.Point{0, -100}}}, ground: meadow(), to: at(700, 0), path: 700, straight: 100, effort: 850,
		},
		{
			name: "a lot off the path, across a brook", ways: []Way{{Line: path}}, starts: []Start{{Point: orb.Point{0, -100}}},
			ground: meadow(orb.LineString{{-5000, -50}, {5000, -50}}), to: at(700, 0), path: 700, straight: 100, crossings: 1, effort: 1150,
		},
		{
			name: "a brook where ends all but meet", ways: []Way{{Line: orb.LineString{{0, 0}, {500, 0}}}, {Line: orb.LineString{{520, 0}, {1000, 0}}}}, starts: park,
			ground: meadow(brook(510)), to: at(900, 0), path: 900, crossings: 1, effort: 1200,
		},
		{
			name: "a lot between two paths", starts: []Start{{}}, ground: meadow(),
			ways: []Way{{Line: orb.LineString{{-200, 300}, {0, 5}, {200, 300}}}, {Line: orb.LineString{{-200, -308}, {0, -8}, {200, -308}}}},
			to:   at(200, -308), path: 8 + math.Hypot(200, 300), effort: 8 + math.Hypot(200, 300),
		},
		{
			name: "ends that all but meet", ways: []Way{{Line: orb.LineString{{0, 0}, {500, 0}}}, {Line: orb.LineString{{520, 0}, {1000, 0}}}}, starts: park,
			ground: meadow(), to: at(900, 0), path: 900, effort: 900,
		},
		{
			name: "an end that all but meets a path", ways: []Way{{Line: path}, {Line: orb.LineString{{600, 10}, {600, 500}}}}, starts: park,
			ground: meadow(), to: at(600, 400), path: 1000, effort: 1000,
		},
		{
			name: "paths that cross at grade", ways: []Way{{Line: path}, {Line: orb.LineString{{611, -300}, {611, 500}}}}, starts: park,
			ground: meadow(), to: at(611, 400), path: 1011, effort: 1011,
		},
		{
			// The bridge is joined at its ends alone, so one goes straight.
			name: "a path led over another", ways: []Way{{Line: path}, {Line: orb.LineString{{611, -300}, {611, 500}}, Bridge: true}}, starts: park,
			ground: meadow(), to: at(611, 500), path: 611 - 500/k, straight: 750 / k, effort: 611 + 500*k,
		},
		{
			// One does not jump from a bridge: its end comes first, then back.
			name: "a patch under a bridge", ways: []Way{{Line: orb.LineString{{0, 0}, {400, 0}}}, {Line: orb.LineString{{400, 0}, {500, 0}, {600, 0}}, Bridge: true}}, starts: park,
			ground: meadow(), to: at(580, 0), path: 600, straight: 20, effort: 630,
		},
		{
			name: "the nearer lot", ways: []Way{{Line: path}}, starts: append([]Start{{Point: orb.Point{1000, 0}}}, park...), ground: meadow(), to: at(300, 0), path: 300, effort: 300,
		},
		{
			name: "the first of two equal lots", ways: []Way{{Line: path}}, starts: append([]Start{{Point: orb.Point{1000, 0}, Name: "first"}}, park...), ground: meadow(), to: at(500, 0), path: 500, effort: 500,
			leave: orb.Point{1000, 0},
		},
		{
			// The second lot's way to the vertex in the middle is found first.
			name: "the first of two equal lots, at a vertex", ways: []Way{{Line: uneven}}, starts: append([]Start{{Point: orb.Point{1000, 0}, Name: "first"}}, park...),
			ground: meadow(), to: at(500, 0), path: 500, effort: 500, leave: orb.Point{1000, 0},
		},
		{
			name: "a middle for want of an outline", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: Target{Middle: orb.Point{700, 0}}, path: 700, effort: 700,
		},
		{name: "no starts", ways: []Way{{Line: path}}, ground: meadow(), to: at(700, 0), why: "no parking place known"},
		{name: "starts nowhere", ways: []Way{{Line: path}}, starts: []Start{{Point: orb.Point{math.NaN(), 0}}}, ground: meadow(), to: at(700, 0), why: "no parking place known"},
		{name: "no outline", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: Target{Middle: orb.Point{math.NaN(), 0}}, why: "the patch has no outline"},
		{name: "too far", ways: []Way{{Line: path}}, starts: park, ground: meadow(), to: at(500, 2001), why: "no path from a parking place comes within 2000 m"},
		{name: "near enough when told", ways: []Way{{Line: path}}, starts: park, ground: meadow(), o: Options{MaxStraightM: 3000}, to: at(1000, 2001), path: 0, straight: math.Hypot(1000, 2001), effort: 1.5 * math.Hypot(1000, 2001)},
		{name: "a path no lot leads to", ways: []Way{{Line: orb.LineString{{3000, 0}, {5000, 0}}}}, starts: park, ground: meadow(), to: at(5000, 0), why: "no path from a parking place"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n, _ := build(t, c.ways, c.starts, c.ground, c.o)
			w := n.To(c.to)
			if c.why != "" {
				if w.OK || !strings.Contains(w.Why, c.why) {
					t.Errorf("got %+v, want %q", w, c.why)
				}
				return
			}
			if !w.OK || !near(w.PathM, c.path) || !near(w.StraightM, c.straight) || w.Crossings != c.crossings || !near(w.EffortM, c.effort) {
				t.Errorf("path %g, straight %g, %d crossings, effort %g (%s); want %g, %g, %d, %g\n%v", w.PathM, w.StraightM, w.Crossings, w.EffortM, w.Why, c.path, c.straight, c.crossings, c.effort, w.Line)
			}
			if c.leave != (orb.Point{}) && len(w.Line) > 1 && w.Crossings == 0 {
				if p := w.Line[len(w.Line)-2]; distance(p, c.leave) > 1e-6 {
					t.Errorf("left the path at %v, want %v", p, c.leave)
				}
			}
			sound(t, n, w)
		})
	}
}
