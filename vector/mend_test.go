package vector

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

func box(w, s, e, n float64) orb.Ring { return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}} }

// brokenShapes are polygons with the area of the ground they go round, worked
// by hand; the rules of validity are those of OGC 06-103r4, 6.1.11.
var brokenShapes = []struct {
	name  string
	g     orb.Geometry
	area  float64
	valid bool
}{
	{"square", orb.Polygon{box(0, 0, 10, 10)}, 100, true},
	{"clockwise square", orb.Polygon{{{0, 0}, {0, 10}, {10, 10}, {10, 0}, {0, 0}}}, 100, true},
	{"point twice in a row", orb.Polygon{{{0, 0}, {10, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}}, 100, true},
	{"points on a straight side", orb.Polygon{{{0, 0}, {3, 0}, {7, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}}, 100, true},
	{"hole", orb.Polygon{box(0, 0, 10, 10), box(2, 2, 8, 8)}, 64, true},
	{"hole touching the outline at a point", orb.Polygon{box(0, 0, 10, 10), {{0, 0}, {4, 2}, {2, 4}, {0, 0}}}, 94, true},
	{"parts touching at a corner", orb.MultiPolygon{{box(0, 0, 10, 10)}, {box(10, 10, 20, 20)}}, 200, true},
	{"bow tie", orb.Polygon{{{0, 0}, {10, 10}, {10, 0}, {0, 10}, {0, 0}}}, 50, false},
	{"outline touching itself", orb.Polygon{{{0, 0}, {10, 0}, {5, 5}, {10, 10}, {0, 10}, {5, 5}, {0, 0}}}, 50, false},
	{"gone round twice", orb.Polygon{append(box(0, 0, 10, 10), box(0, 0, 10, 10)[1:]...)}, 100, false},
	{"spike out", orb.Polygon{{{0, 0}, {10, 0}, {10, 5}, {20, 5}, {10, 5}, {10, 10}, {0, 10}, {0, 0}}}, 100, false},
	{"spike in", orb.Polygon{{{0, 0}, {10, 0}, {10, 5}, {3, 5}, {10, 5}, {10, 10}, {0, 10}, {0, 0}}}, 100, false},
	{"hole across the outline", orb.Polygon{box(0, 0, 10, 10), box(5, 2, 15, 4)}, 90, false},
	{"part written as a hole", orb.Polygon{box(0, 0, 10, 10), box(20, 20, 30, 30)}, 200, false},
	{"hole in a hole", orb.Polygon{box(0, 0, 20, 20), box(2, 2, 18, 18), box(5, 5, 10, 10)}, 144, false},
	{"hole as large as the polygon", orb.Polygon{box(0, 0, 10, 10), box(0, 0, 10, 10)}, 0, false},
	{"parts that overlap", orb.MultiPolygon{{box(0, 0, 10, 10)}, {box(5, 0, 15, 10)}}, 150, false},
	{"part in another", orb.MultiPolygon{{box(0, 0, 10, 10)}, {box(2, 2, 4, 4)}}, 100, false},
	{"parts that share a side", orb.MultiPolygon{{box(0, 0, 10, 10)}, {box(10, 0, 20, 10)}}, 200, false},
	{"not closed", orb.Polygon{{{0, 0}, {10, 0}, {10, 10}, {0, 10}}}, 100, false},
	{"triangle not closed", orb.Polygon{{{0, 0}, {10, 0}, {10, 10}}}, 50, false},
	{"two points", orb.Polygon{{{0, 0}, {10, 0}}}, 0, false},
	{"there and back", orb.Polygon{{{0, 0}, {10, 0}, {0, 0}}}, 0, false},
	{"one point four times", orb.Polygon{{{1, 1}, {1, 1}, {1, 1}, {1, 1}}}, 0, false},
	{"flat", orb.Polygon{{{0, 0}, {10, 0}, {5, 0}, {0, 0}}}, 0, false},
	{"hole of three points", orb.Polygon{box(0, 0, 10, 10), {{2, 2}, {4, 4}, {2, 2}}}, 100, false},
	{"flat hole", orb.Polygon{box(0, 0, 10, 10), {{2, 2}, {6, 2}, {4, 2}, {2, 2}}}, 100, false},
	{"no outer ring", orb.Polygon{{}, box(2, 2, 4, 4)}, 0, false},
	{"one part flat", orb.MultiPolygon{{{{0, 0}, {5, 5}, {0, 0}}}, {box(0, 0, 10, 10)}}, 100, false},
}

func needsGEOS(t testing.TB) {
	t.Helper()
	if !judgesShapes() {
		t.Skip("this GDAL is built without GEOS: shapes are not judged")
	}
}

func geosValid(t testing.TB, g orb.Geometry) bool {
	t.Helper()
	b, err := wkb.Marshal(g, binary.LittleEndian)
	if err != nil {
		t.Fatal(err)
	}
	return judgeWKB(b) == shapeValid
}

// areaOf is the shoelace area of valid polygons, holes taken off.
func areaOf(g orb.Geometry) float64 {
	switch g := g.(type) {
	case orb.MultiPolygon:
		sum := 0.0
		for _, p := range g {
			sum += areaOf(p)
		}
		return sum
	case orb.Polygon:
		sum := 0.0
		for i, r := range g {
			a := 0.0
			for j := 1; j < len(r); j++ {
				a += r[j-1][0]*r[j][1] - r[j][0]*r[j-1][1]
			}
			if a = math.Abs(a) / 2; i > 0 {
				a = -a
			}
			sum += a
		}
		return sum
	}
	return 0
}

func TestMendByHand(t *testing.T) {
	needsGEOS(t)
	for _, c := range brokenShapes {
		t.Run(c.name, func(t *testing.T) {
			before := orb.Clone(c.g)
			got, changed, err := mend(orb.Clone(c.g))
			if err != nil {
				t.Fatal(err)
			}
			if changed == c.valid {
				t.Errorf("changed: %t, want %t", changed, !c.valid)
			}
			if c.valid && !cmp.Equal(got, before) {
				t.Errorf("a valid shape became %v", got)
			}
			if (got == nil) != (c.area == 0) {
				t.Fatalf("got %v for an area of %g", got, c.area)
			}
			if got == nil {
				return
			}
			if a := areaOf(got); math.Abs(a-c.area) > 1e-9 {
				t.Errorf("area %g, want %g: %v", a, c.area, got)
			}
			if !geosValid(t, got) {
				t.Errorf("not valid: %v", got)
			}
		})
	}
}
