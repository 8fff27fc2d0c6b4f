package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// neighbours are polygons that share borders and corners on whole coordinates,
// some with a hole that another fills, some of several parts.
func neighbours(r *rand.Rand) []orb.Geometry {
	var out []orb.Geometry
	for y := 0.0; y < 30; y += 10 {
		for x := 0.0; x < 40; x += 10 {
			square := box(x, y, x+10, y+10)
			diamond := orb.Ring{{x + 5, y + 1}, {x + 9, y + 5}, {x + 5, y + 9}, {x + 1, y + 5}, {x + 5, y + 1}}
			switch r.IntN(5) {
			case 0:
				out = append(out, orb.Polygon{square})
			case 1:
				out = append(out, orb.Polygon{square, diamond}, orb.Polygon{diamond})
			case 2: // two triangles that share the diagonal
				out = append(out,
					orb.Polygon{{{x, y}, {x + 10, y}, {x + 10, y + 10}, {x, y}}},
					orb.Polygon{{{x, y}, {x + 10, y + 10}, {x, y + 10}, {x, y}}})
			case 3: // parts touching in a corner
				out = append(out, orb.MultiPolygon{{box(x, y, x+5, y+5)}, {box(x+5, y+5, x+10, y+10), {{x + 5, y + 5}, {x + 8, y + 6}, {x + 6, y + 8}, {x + 5, y + 5}}}})
			case 4:
				out = append(out, orb.Polygon{star(r, x+5, y+5, 7)}, orb.LineString{{x, y}, {x + 7, y + 3}}, orb.Point{x + 3, y + 7})
			}
		}
	}
	return out
}

// GEOS by way of shapely: which geometries hold a point, their borders being
// theirs, and how far the nearest is. Half of the points lie on whole and half
// coordinates, so on borders and corners; the borders are exact there.
func TestIndexAgainstShapely(t *testing.T) {
	type group struct {
		Shapes []string     `json:"shapes"`
		Points [][2]float64 `json:"points"`
	}
	r := rand.New(rand.NewPCG(101, 102))
	var ask []group
	var indexes []*Index
	for range 25 {
		all := neighbours(r)
		indexes = append(indexes, NewIndex(all))
		var g group
		for _, s := range all {
			g.Shapes = append(g.Shapes, hexOf(t, s))
		}
		for i := range 60 {
			p := [2]float64{60*r.Float64() - 10, 50*r.Float64() - 10}
			if i%2 == 0 {
				p = [2]float64{float64(r.IntN(84)-2) / 2, float64(r.IntN(64)-2) / 2}
			}
			g.Points = append(g.Points, p)
		}
		ask = append(ask, g)
	}
	var answer [][]struct {
		Within    []int
		Border    bool
		Distances []float64
	}
	heard(t, "shapely.wkb", `
import json, sys
from shapely import wkb
from shapely.geometry import Point
out = []
for group in json.load(sys.stdin):
    shapes = [wkb.loads(s, hex=True) for s in group["shapes"]]
    rows = []
    for p in group["points"]:
        p = Point(p)
        inside = [i for i, g in enumerate(shapes) if g.geom_type.endswith("Polygon") and g.intersects(p)]
        rows.append({"within": inside, "border": any(shapes[i].touches(p) for i in inside), "distances": [g.distance(p) for g in shapes]})
    out.append(rows)
json.dump(out, sys.stdout)`, ask, &answer)
	cases, borders, several := 0, 0, 0
	for k, rows := range answer {
		for j, a := range rows {
			p := orb.Point(ask[k].Points[j])
			cases++
			if a.Border {
				borders++
			}
			if len(a.Within) > 1 {
				several++
			}
			if got := indexes[k].Containing(p); !slices.Equal(got, a.Within) {
				t.Errorf("group %d, %v: in %v, GEOS says %v", k, p, got, a.Within)
			}
			least := slices.Min(a.Distances)
			i, d, ok := indexes[k].Nearest(p)
			if !ok || math.Abs(d-least) > 1e-9 || math.Abs(a.Distances[i]-least) > 1e-9 {
				t.Errorf("group %d, %v: nearest %d at %g, GEOS says %g, and %g for that one", k, p, i, d, least, a.Distances[i])
			}
			for _, reach := range []float64{0, least / 2, least + 1e-6, 5} {
				_, d, ok := indexes[k].NearestWithin(p, reach)
				if math.Abs(reach-least) > 1e-9 && ok != (least < reach) || ok && math.Abs(d-least) > 1e-9 {
					t.Errorf("group %d, %v: within %g: %g, %t; GEOS says %g", k, p, reach, d, ok, least)
				}
			}
		}
	}
	if cases < 1000 || borders < 80 || several < 40 {
		t.Errorf("%d cases, %d on borders, %d in several", cases, borders, several)
	}
}

// A random network of lines, far from whole coordinates.
func TestNearestLineAgainstShapely(t *testing.T) {
	r := rand.New(rand.NewPCG(103, 104))
	var all []orb.Geometry
	var shapes []string
	for range 120 {
		p := orb.Point{500000 + 8000*r.Float64(), 4600000 + 8000*r.Float64()}
		var l orb.LineString
		for range 2 + r.IntN(30) {
			p[0] += 200 * (r.Float64() - 0.5)
			p[1] += 200 * (r.Float64() - 0.5)
			l = append(l, p)
		}
		all, shapes = append(all, l), append(shapes, hexOf(t, l))
	}
	var points [][2]float64
	for range 1000 {
		points = append(points, [2]float64{499000 + 10000*r.Float64(), 4599000 + 10000*r.Float64()})
	}
	var answer []float64
	heard(t, "shapely.wkb", `
import json, sys
from shapely import wkb
from shapely.geometry import Point
ask = json.load(sys.stdin)
from shapely.geometry import MultiLineString
all = MultiLineString([wkb.loads(s, hex=True) for s in ask["shapes"]])
json.dump([all.distance(Point(p)) for p in ask["points"]], sys.stdout)`,
		map[string]any{"shapes": shapes, "points": points}, &answer)
	if len(answer) != len(points) {
		t.Fatalf("%d answers", len(answer))
	}
	x := NewIndex(all)
	for i, want := range answer {
		if _, d, ok := x.Nearest(points[i]); !ok || math.Abs(d-want) > 1e-6 {
			t.Errorf("%v: %g m, GEOS says %g m", points[i], d, want)
		}
	}
}
