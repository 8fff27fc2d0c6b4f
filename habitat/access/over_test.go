package access

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 41)) }

func TestOverByHand(t *testing.T) {
	l := landOf(t, frame(t, 10, 1), []Unit{
		{"Low Park", Open, box(0, 0, 40, 10)},
		{"", Private, box(20, 0, 30, 10)},
		{"Mill Keep", Closed, box(30, 0, 60, 10)},
		{"Low Park", Open, box(35, 0, 50, 10)}, // a second record of the park
		{"Far Wood", Permit, box(70, 0, 90, 10)},
		{"Reed Bank", Permit, box(75, 0, 80, 10)},
		{"Elsewhere", Open, box(500, 0, 600, 10)},
	})
	var centres []orb.Point
	for x := range 10 {
		centres = append(centres, orb.Point{500005 + 10*float64(x), 4600005})
	}
	shares, names := l.Over(centres)
	// Columns 0 and 1 open; 2 private; 3 to 5 closed; 6 and 9 in nothing; 7, 8 permit.
	if d := cmp.Diff([statuses]float64{Unknown: 0.2, Open: 0.2, Permit: 0.2, Private: 0.1, Closed: 0.3}, shares); d != "" {
		t.Errorf("shares (-want +got):\n%s", d)
	}
	// The park holds columns 0 to 4, the keep 3 to 5, the wood 7 and 8, the bank
	// only the side of column 7: three are named.
	if d := cmp.Diff([]string{"Low Park", "Mill Keep", "Far Wood"}, names); d != "" {
		t.Errorf("names (-want +got):\n%s", d)
	}
	for _, c := range []struct {
		name   string
		points []orb.Point
		want   [statuses]float64
	}{
		{"no points", nil, [statuses]float64{}},
		{"in nothing", []orb.Point{{1, 1}}, [statuses]float64{Unknown: 1}},
		{"no numbers", []orb.Point{{math.NaN(), 1}, {1, math.Inf(1)}}, [statuses]float64{Unknown: 1}},
		{"a number beside none", []orb.Point{{math.NaN(), 4600005}, {500005, 4600005}}, [statuses]float64{Unknown: 0.5, Open: 0.5}},
	} {
		shares, names := l.Over(c.points)
		if d := cmp.Diff(c.want, shares); d != "" {
			t.Errorf("%s: shares (-want +got):\n%s", c.name, d)
		}
		if c.want[Open] == 0 && names != nil {
			t.Errorf("%s: names %q", c.name, names)
		}
	}
}

// Two records of one name hold three points between them, not six.
func TestOverCountsNamesOnce(t *testing.T) {
	l := landOf(t, frame(t, 7, 1), []Unit{
		{"Low Park", Open, box(0, 0, 30, 10)},
		{"Mill Keep", Closed, box(30, 0, 70, 10)},
		{"Low Park", Permit, box(0, 0, 30, 10)},
	})
	var centres []orb.Point
	for x := range 7 {
		centres = append(centres, orb.Point{500005 + 10*float64(x), 4600005})
	}
	_, names := l.Over(centres)
	if d := cmp.Diff([]string{"Mill Keep", "Low Park"}, names); d != "" {
		t.Errorf("names (-want +got):\n%s", d)
	}
}

// Points level with corners: where two sides meet they count as one, and a
// corner that only touches the level counts as none or two.
func TestInsideLevelWithCorners(t *testing.T) {
	diamond := orb.Polygon{{{0, 10}, {10, 0}, {20, 10}, {10, 20}, {0, 10}}}
	notch := orb.Polygon{{{0, 0}, {40, 0}, {40, 20}, {30, 10}, {20, 20}, {10, 10}, {0, 20}, {0, 0}}}
	for _, c := range []struct {
		name string
		g    orb.Geometry
		p    orb.Point
		want bool
	}{
		{"middle of a diamond", diamond, orb.Point{10, 10}, true},
		{"west of it", diamond, orb.Point{-5, 10}, false},
		{"west of its top", diamond, orb.Point{5, 20}, false},
		{"west of its foot", diamond, orb.Point{5, 0}, false},
		{"its top", diamond, orb.Point{10, 20}, true},
		{"level with the notches, inside", notch, orb.Point{5, 10}, true},
		{"between the notches", notch, orb.Point{20, 10}, true},
		{"level with the teeth", notch, orb.Point{10, 20}, false},
		{"west of the teeth", notch, orb.Point{-5, 20}, false},
		{"on the level foot", notch, orb.Point{15, 0}, true},
		{"west of the level foot", notch, orb.Point{-15, 0}, false},
	} {
		if got := newGround(c.g, c.p[1], c.p[1]).holds(c.p); got != c.want {
			t.Errorf("%s: %t, want %t", c.name, got, c.want)
		}
	}
}

// Over, At, the plane and a plain loop over all units through the index's own
// test of a point in a polygon say the same of random places.
func TestOverAgainstPlainLoop(t *testing.T) {
	r := newRand(5)
	f := frame(t, 60, 50)
	for round := range 30 {
		units := someUnits(r, 1+r.IntN(20), 600, 500)
		l := landOf(t, f, units)
		var points []orb.Point
		x0, y0 := r.IntN(40), r.IntN(30)
		for y := y0; y < y0+20; y++ {
			for x := x0; x < x0+20; x++ {
				e, n := f.Center(x, y)
				points = append(points, orb.Point{e, n})
			}
		}
		var want [statuses]float64
		met := map[string]int{}
		for k, p := range points {
			s, name, here := Unknown, "", map[string]bool{}
			for j, i := range l.index.Containing(p) {
				if j == 0 || caution(units[i].Status) > caution(s) {
					s, name = units[i].Status, units[i].Name
				}
				here[units[i].Name] = true
			}
			for n := range here {
				met[n]++
			}
			want[s]++
			if got, gotName := l.At(p); got != s || gotName != name {
				t.Fatalf("round %d: at %v %v, %q; want %v, %q", round, p, got, gotName, s, name)
			}
			var cell [1]uint8
			if err := l.Status.Read(x0+k%20, y0+k/20, 1, 1, cell[:]); err != nil || Status(cell[0]) != s {
				t.Fatalf("round %d: plane has %v, want %v (%v)", round, Status(cell[0]), s, err)
			}
		}
		shares, names := l.Over(points)
		for s := range want {
			if want[s] /= float64(len(points)); want[s] != shares[s] {
				t.Errorf("round %d: %v on %g, want %g", round, Status(s), shares[s], want[s])
			}
		}
		if len(names) != min(len(met), mostNames) {
			t.Errorf("round %d: %d names of %d", round, len(names), len(met))
		}
		for i, n := range names {
			if met[n] == 0 || i > 0 && met[n] > met[names[i-1]] {
				t.Errorf("round %d: names %q of %v", round, names, met)
			}
			for other, k := range met {
				if k > met[n] && !slices.Contains(names[:i], other) {
					t.Errorf("round %d: %q stands before %q, which holds more points", round, n, other)
				}
			}
		}
	}
}

// A large patch in units of many sides.
func BenchmarkOver(b *testing.B) {
	r := newRand(6)
	f := frame(b, 2000, 2000)
	var units []Unit
	for range 2000 {
		var ring orb.Ring
		x, y := 500000+20000*r.Float64(), 4600000+20000*r.Float64()
		for k := range 2000 {
			a := 2 * math.Pi * float64(k) / 2000
			d := 600 + 100*r.Float64()
			ring = append(ring, orb.Point{x + d*math.Cos(a), y + d*math.Sin(a)})
		}
		units = append(units, Unit{"u", Open, orb.Polygon{append(ring, ring[0])}})
	}
	l := landOf(b, f, units)
	var points []orb.Point
	for k := range 1000 {
		points = append(points, orb.Point{510000 + 10*float64(k%40), 4610000 + 10*float64(k/40)})
	}
	for b.Loop() {
		l.Over(points)
	}
}
