package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
)

func TestIndexByHand(t *testing.T) {
	x := NewIndex([]orb.Geometry{
		orb.LineString{{0, 0}, {100, 0}},
		nil,
		orb.Polygon{{{0, 50}, {100, 50}, {100, 100}, {0, 100}, {0, 50}}, {{40, 60}, {60, 60}, {60, 80}, {40, 80}, {40, 60}}},
		orb.Point{200, 0},
		orb.MultiLineString{{{100, 0}, {100, 20}}},
		orb.LineString{},
	})
	for _, c := range []struct {
		name string
		p    orb.Point
		want int
		dist float64
	}{
		{"beside a line", orb.Point{30, 7}, 0, 7},
		{"beyond its end", orb.Point{-3, -4}, 0, 5},
		{"inside a polygon", orb.Point{10, 60}, 2, 0},
		{"in its hole", orb.Point{50, 65}, 2, 5},
		{"a point", orb.Point{203, 4}, 3, 5},
		{"equally near two", orb.Point{100, -2}, 0, 2},
		{"the multi line", orb.Point{103, 10}, 4, 3},
	} {
		i, d, ok := x.Nearest(c.p)
		if !ok || i != c.want || math.Abs(d-c.dist) > 1e-12 {
			t.Errorf("%s: geometry %d at %g m, %t; want %d at %g m", c.name, i, d, ok, c.want, c.dist)
		}
	}
	if _, _, ok := x.NearestWithin(orb.Point{30, 7}, 6.9); ok {
		t.Error("found a line 7 m away within 6.9 m")
	}
	if i, d, ok := x.NearestWithin(orb.Point{30, 7}, 7); !ok || i != 0 || d != 7 {
		t.Errorf("within 7 m: %d, %g, %t", i, d, ok)
	}
	if d := cmp.Diff([]int{0, 4}, x.Search(orb.Bound{Min: orb.Point{90, -5}, Max: orb.Point{110, 5}})); d != "" {
		t.Errorf("search (-want +got):\n%s", d)
	}
	if got := x.Containing(orb.Point{50, 70}); got != nil {
		t.Errorf("the hole is in %v", got)
	}
	if _, _, ok := NewIndex(nil).Nearest(orb.Point{}); ok {
		t.Error("found something in an empty index")
	}
}

func TestIndexAgainstBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	var all []orb.Geometry
	for range 300 {
		p := orb.Point{10000 * r.Float64(), 10000 * r.Float64()}
		var l orb.LineString
		for range 1 + r.IntN(40) {
			p[0] += 300 * (r.Float64() - 0.5)
			p[1] += 300 * (r.Float64() - 0.5)
			l = append(l, p)
		}
		all = append(all, l)
	}
	x := NewIndex(all)
	for range 500 {
		p := orb.Point{12000*r.Float64() - 1000, 12000*r.Float64() - 1000}
		best, at := math.Inf(1), -1
		for i, g := range all {
			l := g.(orb.LineString)
			d := planar.Distance(p, l[0])
			for j := 1; j < len(l); j++ {
				d = min(d, planar.DistanceFromSegment(l[j-1], l[j], p))
			}
			if d < best {
				best, at = d, i
			}
		}
		i, d, ok := x.Nearest(p)
		if !ok || i != at || math.Abs(d-best) > 1e-9 {
			t.Fatalf("%v: geometry %d at %g m, want %d at %g m", p, i, d, at, best)
		}
		b := orb.Bound{Min: p, Max: orb.Point{p[0] + 500, p[1] + 500}}
		var want []int
		for i, g := range all {
			if g.Bound().Intersects(b) {
				want = append(want, i)
			}
		}
		if got := x.Search(b); !slices.Equal(got, want) {
			t.Fatalf("search %v: %v, want %v", b, got, want)
		}
	}
}

func BenchmarkNearest(b *testing.B) {
	r := rand.New(rand.NewPCG(15, 16))
	var all []orb.Geometry
	for range 20000 {
		p := orb.Point{50000 * r.Float64(), 50000 * r.Float64()}
		var l orb.LineString
		for range 25 {
			p[0] += 60 * (r.Float64() - 0.5)
			p[1] += 60 * (r.Float64() - 0.5)
			l = append(l, p)
		}
		all = append(all, l)
	}
	x := NewIndex(all)
	for b.Loop() {
		x.Nearest(orb.Point{50000 * r.Float64(), 50000 * r.Float64()})
	}
}
