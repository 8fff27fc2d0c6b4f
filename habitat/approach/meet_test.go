package approach

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

func TestMeetByHand(t *testing.T) {
	for _, c := range []struct {
		name           string
		a0, a1, b0, b1 orb.Point
		want           []hit
	}{
		{"a cross", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{4, -5}, orb.Point{4, 5}, []hit{{0.4, 0.5, orb.Point{4, 0}}}},
		{"a T", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{4, 0}, orb.Point{4, 5}, []hit{{0.4, 0, orb.Point{4, 0}}}},
		{"a T the other way", orb.Point{4, 0}, orb.Point{4, 5}, orb.Point{0, 0}, orb.Point{10, 0}, []hit{{0, 0.4, orb.Point{4, 0}}}},
		{"end to end", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{10, 0}, orb.Point{12, 5}, []hit{{1, 0, orb.Point{10, 0}}}},
		{"a hair short", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{4, 5e-7}, orb.Point{4, 5}, []hit{{0.4, 0, orb.Point{4, 5e-7}}}},
		{"short", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{4, 1e-3}, orb.Point{4, 5}, nil},
		{"side by side", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{0, 1}, orb.Point{10, 1}, nil},
		{"one behind the other", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{11, 0}, orb.Point{15, 0}, nil},
		{"overlap", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{5, 0}, orb.Point{15, 0}, []hit{{0.5, 0, orb.Point{5, 0}}, {1, 0.5, orb.Point{10, 0}}}},
		{"within", orb.Point{0, 0}, orb.Point{10, 0}, orb.Point{2, 0}, orb.Point{4, 0}, []hit{{0.2, 0, orb.Point{2, 0}}, {0.4, 1, orb.Point{4, 0}}}},
	} {
		hits, n := meet(c.a0, c.a1, c.b0, c.b1)
		if n != len(c.want) {
			t.Errorf("%s: %v, want %v", c.name, hits[:n], c.want)
			continue
		}
		for i, h := range hits[:n] {
			if math.Abs(h.ta-c.want[i].ta) > 1e-12 || math.Abs(h.tb-c.want[i].tb) > 1e-12 || distance(h.at, c.want[i].at) > 1e-12 {
				t.Errorf("%s: %v, want %v", c.name, h, c.want[i])
			}
		}
	}
}

// Segments as they come and on a small lattice, where most of them touch, end in
// each other or overlap, held against GEOS.
func TestMeetAgainstGEOS(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	type pair [4]orb.Point
	var pairs []pair
	for i := range 6000 {
		var p pair
		for k := range p {
			if i%2 == 0 {
				p[k] = orb.Point{float64(r.IntN(5)), float64(r.IntN(5))}
			} else {
				p[k] = orb.Point{500000 + 100*r.Float64(), 4600000 + 100*r.Float64()}
			}
		}
		if p[0] != p[1] && p[2] != p[3] {
			pairs = append(pairs, p)
		}
	}
	var want [][]orb.Point // ends of what the two share
	judge(t, "shapely", `
from shapely.geometry import LineString
out = []
for a, b, c, d in json.load(sys.stdin):
    i = LineString([a, b]).intersection(LineString([c, d]))
    out.append([list(p) for p in i.coords] if not i.is_empty else [])
print(json.dumps(out))
`, pairs, &want)
	met := 0
	for i, p := range pairs {
		hits, n := meet(p[0], p[1], p[2], p[3])
		if (n > 0) != (len(want[i]) > 0) {
			t.Fatalf("%v: %v, GEOS says %v", p, hits[:n], want[i])
		}
		if n > 0 {
			met++
		}
		for _, w := range want[i] {
			found := false
			for _, h := range hits[:n] {
				found = found || distance(h.at, w) < 1e-6
			}
			if !found {
				t.Fatalf("%v: %v, GEOS says %v", p, hits[:n], want[i])
			}
		}
		for _, h := range hits[:n] {
			if distance(between(p[0], p[1], h.ta), h.at) > 1e-6 || distance(between(p[2], p[3], h.tb), h.at) > 1e-6 {
				t.Fatalf("%v: %v is not where it says along them", p, h)
			}
		}
	}
	if met < 1000 {
		t.Errorf("only %d of %d pairs meet: the test is not sharp", met, len(pairs))
	}
}
