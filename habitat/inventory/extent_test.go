package inventory

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/vector"
)

func TestHullOfFewRecords(t *testing.T) {
	disc := math.Pi * 50 * 50
	for _, c := range []struct {
		name    string
		records []record
		area    float64
	}{
		{"one record: a disc", []record{{x: 7, y: 9}}, disc},
		{"the same place twice", []record{{x: 7, y: 9}, {x: 7, y: 9}}, disc},
		{"two: a disc drawn out", []record{{x: 0, y: 0}, {x: 300, y: 400}}, disc + 500*100},
		{"on a line", []record{{x: 0, y: 0}, {x: 30, y: 40}, {x: 300, y: 400}}, disc + 500*100},
		{"a square", []record{{x: 0, y: 0}, {x: 100, y: 0}, {x: 100, y: 100}, {x: 0, y: 100}, {x: 50, y: 50}}, disc + 100*100 + 4*100*50},
	} {
		// 64 sides fall short of a disc by 0.16 % of its area, and of a straight
		// side's distance by 0.12 %.
		ring := grownHull(c.records, 50)[0]
		if got := ringArea(ring); math.Abs(got-c.area) > 0.002*c.area {
			t.Errorf("%s: %.1f m², want %.1f", c.name, got, c.area)
		}
		if math.Abs(ringArea(ring)-planar.Area(ring)) > 1e-6*c.area {
			t.Errorf("%s: area %g, by orb %g", c.name, ringArea(ring), planar.Area(ring))
		}
	}
}

// Reference library: shapely (GEOS), convex hull and buffer with 16 sides to
// the quarter circle.
func TestHullAgainstGEOS(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	var records []record
	var places [][2]float64
	for range 300 {
		x, y := 500000+900*rng.NormFloat64(), 4400000+500*rng.NormFloat64()
		records = append(records, record{x: x, y: y})
		places = append(places, [2]float64{x, y})
	}
	b, err := json.Marshal(places)
	if err != nil {
		t.Fatal(err)
	}
	ring, err := json.Marshal(grownHull(records, 80)[0])
	if err != nil {
		t.Fatal(err)
	}
	out := python(t, "shapely", `import sys, json
from shapely.geometry import MultiPoint, Polygon
want = MultiPoint(json.loads(sys.argv[1])).convex_hull.buffer(80, 16)
got = Polygon(json.loads(sys.argv[2]))
print(got.is_valid, got.symmetric_difference(want).area / want.area < 1e-4)`, string(b), string(ring))
	if strings.TrimSpace(out) != "True True" {
		t.Errorf("valid, the same shape: %s", out)
	}
}

// Cells of the extent against the polygon, one by one, and the weight against
// the nearest cell outside, all of them looked at.
func TestExtentAndWeightAgainstBruteForce(t *testing.T) {
	f := ground(t, 40, 34, 10)
	for _, c := range []struct {
		name string
		ring orb.Ring
	}{
		{"within the map", orb.Ring{{500053, 4399951}, {500307, 4399902}, {500250, 4399713}, {500101, 4399777}, {500053, 4399951}}},
		{"over its edges", orb.Ring{{499900, 4400100}, {500307, 4399902}, {500250, 4399613}, {499800, 4399777}, {499900, 4400100}}},
		{"all of it", orb.Ring{{490000, 4390000}, {510000, 4390000}, {510000, 4410000}, {490000, 4410000}, {490000, 4390000}}},
	} {
		const blend = 60
		e, err := newExtent(context.Background(), []orb.Geometry{orb.Polygon{c.ring}}, f, 8, nil)
		if err != nil || e == nil {
			t.Fatalf("%s: %v, %v", c.name, e, err)
		}
		weight, n, err := e.weigh(context.Background(), f, blend, nil, 2)
		if err != nil {
			t.Fatal(err)
		}
		var bare [][2]float64 // centres outside, some way around the map
		for y := -12; y < f.H+12; y++ {
			for x := -12; x < f.W+12; x++ {
				if cx, cy := f.Center(x, y); !planar.RingContains(c.ring, orb.Point{cx, cy}) {
					bare = append(bare, [2]float64{cx, cy})
				}
			}
		}
		found := int64(0)
		for i, got := range cellsOf(t, weight) {
			cx, cy := f.Center(i%f.W, i/f.W)
			d := math.Inf(1)
			for _, b := range bare {
				d = min(d, math.Hypot(cx-b[0], cy-b[1]))
			}
			want := storeWeight(d-5, blend)
			if want > 0 {
				found++
			}
			if got != want {
				t.Fatalf("%s: cell %d,%d: weight %d, want %d (%g m)", c.name, i%f.W, i/f.W, got, want, d)
			}
		}
		if n != found || n == 0 {
			t.Errorf("%s: %d cells counted, %d found", c.name, n, found)
		}
	}
}

func TestExtentOffTheMap(t *testing.T) {
	f := ground(t, 40, 30, 10)
	far := orb.Polygon{{{700000, 1}, {700010, 1}, {700010, 9}, {700000, 1}}}
	if e, err := newExtent(context.Background(), []orb.Geometry{far}, f, 10, nil); e != nil || err != nil {
		t.Errorf("got %v, %v; want nothing", e, err)
	}
	if e, err := newExtent(context.Background(), nil, f, 10, nil); e != nil || err != nil {
		t.Errorf("no polygon: got %v, %v; want nothing", e, err)
	}
	all, notes := read(t, TreeSource{CSV: write(t, "t.csv", "x,y,species\n700000,4300000,elm\n"), CRS: utm}, f)
	if len(all) != 0 {
		t.Errorf("%d hosts measured by records far away", len(all))
	}
	some(t, notes, "none of its surveyed ground lies on the map")
	_, _, err := ReadTrees(context.Background(), TreeSource{CSV: write(t, "t.csv", "x,y,species\n500100,4399900,elm\n"), CRS: utm,
		Extent: vector.Query{Path: write(t, "l.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},"geometry":{"type":"LineString","coordinates":[[-81,39],[-81,39.1]]}}]}`)}}, woods(), f, nil, 1)
	if err == nil || !strings.Contains(err.Error(), "no polygon") {
		t.Errorf("lines for surveyed ground: %v", err)
	}
}

func TestWeightByHand(t *testing.T) {
	for _, c := range []struct {
		dist, blend float64
		want        uint8
	}{{0, 50, 0}, {-5, 50, 0}, {25, 50, 125}, {50, 50, 250}, {5, 0, 250}, {math.Inf(1), 50, 250}, {12.5, 50, 39}} {
		if got := storeWeight(c.dist, c.blend); got != c.want {
			t.Errorf("%g m inside, blend %g m: %d, want %d", c.dist, c.blend, got, c.want)
		}
	}
}
