package vector

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
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
	_, verdict := mendWKB(b)
	return verdict == shapeValid
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

// latticePolygons are shapes on whole coordinates, so that most are broken in
// every way there is.
func latticePolygons(r *rand.Rand) orb.MultiPolygon {
	ring := func() orb.Ring {
		var out orb.Ring
		for range 3 + r.IntN(8) {
			out = append(out, orb.Point{float64(r.IntN(10)), float64(r.IntN(10))})
		}
		if r.IntN(10) > 0 {
			out = append(out, out[0])
		}
		return out
	}
	var m orb.MultiPolygon
	for range 1 + r.IntN(6)/4 {
		p := orb.Polygon{ring()}
		for range r.IntN(6) / 4 {
			p = append(p, ring())
		}
		m = append(m, p)
	}
	return m
}

// windings counts how often a ring goes round p, taken as closed.
func windings(r orb.Ring, p orb.Point) int {
	n := 0
	for i, a := range r {
		b := r[(i+1)%len(r)]
		if (a[1] > p[1]) == (b[1] > p[1]) {
			continue
		}
		if t := turn(a, b, p); b[1] > a[1] && t > 0 {
			n++
		} else if b[1] < a[1] && t < 0 {
			n--
		}
	}
	return n
}

// Mended ground is what the outer ring of some part goes round, in whatever
// sense, and no hole of that part does: looked at from random places. A hole
// away from its outer ring is taken for a part of its own; places in holes but
// in no outer ring are therefore not asked for.
func TestMendAgainstWindings(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(31, 41))
	for i := range 1200 {
		m := latticePolygons(r)
		got, _, err := mend(orb.Clone(m))
		if err != nil {
			t.Fatal(err)
		}
		if got != nil && !geosValid(t, got) {
			t.Fatalf("shape %d: %v became %v, not valid", i, m, got)
		}
		for range 20 {
			p := orb.Point{9 * r.Float64(), 9 * r.Float64()}
			want, open := false, false
			for _, g := range m {
				outer := windings(g[0], p) != 0
				hole := slices.ContainsFunc(g[1:], func(h orb.Ring) bool { return windings(h, p) != 0 })
				want = want || outer && !hole
				open = open || hole && !outer
			}
			if !open && contains(got, p) != want {
				t.Fatalf("shape %d: %v became %v, which holds %v: %t, want %t", i, m, got, p, !want, want)
			}
		}
	}
}

// The plain look must never take a broken shape for a valid one, and must know
// most ordinary ones.
func TestPlainLookAgainstGEOS(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(51, 52))
	told, valid := 0, 0
	for i := range 3000 {
		g, _ := closeRings(latticePolygons(r))
		if i%3 == 0 {
			g = orb.Polygon{star(r, 5, 5, 5)}
			if i%2 == 0 {
				// Slivers and touching outlines, as rounding makes them.
				for j, p := range g.(orb.Polygon)[0] {
					g.(orb.Polygon)[0][j] = orb.Point{math.Round(4*p[0]) / 4, math.Round(4*p[1]) / 4}
				}
			}
		}
		if g == nil {
			continue
		}
		ok := geosValid(t, g)
		if plainlyValid(g) {
			told++
			if !ok {
				t.Fatalf("shape %d: %v is not valid for GEOS", i, g)
			}
		}
		if ok && len(pointsOf(g, nil)) > 0 {
			valid++
		}
	}
	if told < valid*9/10 || valid < 500 {
		t.Errorf("%d of %d valid shapes known by a plain look", told, valid)
	}
}

func FuzzMend(f *testing.F) {
	f.Add([]byte{0, 0, 9, 9, 9, 0, 0, 9, 0, 0})
	f.Add([]byte{0, 0, 9, 0, 9, 9, 0, 9, 255, 2, 2, 4, 2, 4, 4})
	f.Add([]byte{0, 0, 9, 0, 9, 9, 254, 3, 3, 7, 3, 7, 7, 255, 1, 1})
	f.Add([]byte{})
	needsGEOS(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 400 {
			return
		}
		// 255 begins a hole, 254 a part; the other bytes are coordinates.
		m := orb.MultiPolygon{{{}}}
		for i := 0; i < len(data); i++ {
			p := len(m) - 1
			switch {
			case data[i] == 254:
				m = append(m, orb.Polygon{{}})
			case data[i] == 255:
				m[p] = append(m[p], orb.Ring{})
			case i+1 < len(data):
				k := len(m[p]) - 1
				m[p][k] = append(m[p][k], orb.Point{float64(data[i]), float64(data[i+1]) / 4})
				i++
			}
		}
		before := orb.Clone(m).(orb.MultiPolygon)
		got, changed, err := mend(m)
		if err != nil {
			t.Fatal(err)
		}
		if got != nil && !geosValid(t, got) {
			t.Errorf("%v became %v, not valid", before, got)
		}
		if !changed && !cmp.Equal(got, orb.Geometry(before)) {
			t.Errorf("%v became %v, said not to be changed", before, got)
		}
	})
}

// Through a file: broken shapes are counted by what became of them, and the
// coordinates of the valid ones are those of the file, bit for bit.
func TestReadMendsPolygons(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(61, 62))
	l := OutLayer{Name: "soils", Geometry: "MultiPolygon"}
	for _, c := range brokenShapes {
		l.Features = append(l.Features, Feature{Geometry: c.g})
	}
	for range 200 {
		x, y := 5e5*r.Float64(), 4.6e6*r.Float64()
		outer := star(r, x, y, 250)
		for len(outer) < 13 { // enough corners to keep clear of the hole
			outer = star(r, x, y, 250)
		}
		l.Features = append(l.Features, Feature{Geometry: orb.MultiPolygon{{outer, star(r, x, y, 40)}, {star(r, x+1000, y, 300)}}})
	}
	path := gpkg(t, 32618, l)
	plain, err := Read(t.Context(), Query{Path: path}, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := Read(t.Context(), Query{Path: path, Kind: Polygons}, "")
	if err != nil {
		t.Fatal(err)
	}
	asCame := map[int64]orb.Geometry{}
	for _, f := range plain.Features {
		asCame[f.FID] = f.Geometry
	}
	var mended, lost tally
	for i, c := range brokenShapes {
		fid := int64(i + 1)
		at := slices.IndexFunc(got.Features, func(f Feature) bool { return f.FID == fid })
		switch {
		case c.area == 0:
			lost.add(fid)
			if at >= 0 {
				t.Errorf("%s: read as %v", c.name, got.Features[at].Geometry)
			}
			continue
		case at < 0:
			t.Errorf("%s: not read", c.name)
			continue
		case !c.valid:
			mended.add(fid)
		}
		if a := areaOf(got.Features[at].Geometry); math.Abs(a-c.area) > 1e-9 {
			t.Errorf("%s: area %g, want %g", c.name, a, c.area)
		}
	}
	for _, f := range got.Features {
		if i := int(f.FID) - 1; i >= len(brokenShapes) || brokenShapes[i].valid {
			if !cmp.Equal(f.Geometry, asCame[f.FID]) {
				t.Errorf("FID %d was valid and changed", f.FID)
			}
		}
	}
	if want := len(brokenShapes) - lost.n + 200; len(got.Features) != want {
		t.Errorf("%d features, want %d", len(got.Features), want)
	}
	begin := fmt.Sprintf("%q: layer \"soils\": ", path)
	want := []string{
		begin + mended.String() + " with a broken or crossing outline mended",
		begin + lost.String() + " left out: nothing is left of the shape when it is mended",
	}
	if d := cmp.Diff(want, got.Warnings); d != "" || mended.n < 10 || lost.n < 5 {
		t.Errorf("warnings (-want +got):\n%s", d)
	}
}

func TestReadDropsStubsOfLines(t *testing.T) {
	l := OutLayer{Name: "brooks", Geometry: "MultiLineString", Features: []Feature{
		{Geometry: orb.MultiLineString{{{0, 0}, {1, 1}}, {{5, 5}}}},
		{Geometry: orb.LineString{{2, 2}}},
		{Geometry: orb.LineString{{3, 3}, {4, 4}}},
	}}
	got, err := Read(t.Context(), Query{Path: gpkg(t, 32618, l), Kind: Lines}, "")
	if err != nil {
		t.Fatal(err)
	}
	var all []orb.Geometry
	for _, f := range got.Features {
		all = append(all, f.Geometry)
	}
	want := []orb.Geometry{orb.MultiLineString{{{0, 0}, {1, 1}}}, orb.MultiLineString{{{3, 3}, {4, 4}}}}
	if d := cmp.Diff(want, all); d != "" {
		t.Errorf("lines (-want +got):\n%s", d)
	}
	w := strings.Join(got.Warnings, "\n")
	if !strings.Contains(w, "1 feature (FID 1) with") || !strings.Contains(w, "1 feature (FID 2) left out") {
		t.Errorf("warnings %q", w)
	}
}

// GEOS by way of shapely says the same of every shape, before and after.
func TestMendAgainstShapely(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(71, 72))
	var before, after []string
	var changed []bool
	var areas []float64
	for range 1300 {
		g, closed := closeRings(latticePolygons(r))
		if g == nil || closed {
			continue
		}
		before = append(before, hexOf(t, g))
		got, c, err := mend(orb.Clone(g))
		if err != nil {
			t.Fatal(err)
		}
		if got == nil {
			got = orb.MultiPolygon{}
		}
		after, changed, areas = append(after, hexOf(t, got)), append(changed, c), append(areas, areaOf(got))
	}
	var answer []struct {
		Before, After bool
		Area          float64
	}
	heard(t, "shapely.wkb", `
import json, sys
from shapely import wkb
ask = json.load(sys.stdin)
out = []
for a, b in zip(ask["before"], ask["after"]):
    g, h = wkb.loads(a, hex=True), wkb.loads(b, hex=True)
    out.append({"before": g.is_valid, "after": h.is_valid, "area": h.area})
json.dump(out, sys.stdout)`, map[string]any{"before": before, "after": after}, &answer)
	if len(answer) != len(before) || len(answer) < 1000 {
		t.Fatalf("%d answers to %d shapes", len(answer), len(before))
	}
	broken := 0
	for i, a := range answer {
		if changed[i] == a.Before {
			t.Errorf("shape %s: valid for shapely %t, changed %t", before[i], a.Before, changed[i])
		}
		if !a.After || math.Abs(a.Area-areas[i]) > 1e-9 {
			t.Errorf("shape %s: valid afterwards %t, area %g, ours %g", before[i], a.After, a.Area, areas[i])
		}
		if !a.Before {
			broken++
		}
	}
	if broken < 200 || broken > len(answer)-50 {
		t.Errorf("%d of %d shapes were broken", broken, len(answer))
	}
}
