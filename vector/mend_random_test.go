package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

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
		if len(data) > 140 {
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
		if err != nil { // 70 points cross less often than is too often
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
