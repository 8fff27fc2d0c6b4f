package approach

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

func TestCrossingsByHand(t *testing.T) {
	x := NewStreamIndex([]orb.Geometry{
		orb.LineString{{0, -100}, {0, 0}, {0, 100}},
		orb.MultiLineString{{{0, 100}, {50, 200}}, {{0, 100}, {-50, 200}}},
		orb.LineString{{300, 0}, {400, 0}},
		orb.LineString{{400, 0}, {500, 0}},
		orb.LineString{{7, 7}},
		nil,
		orb.Point{-30, 50},
	})
	for _, c := range []struct {
		name string
		a, b orb.Point
		want int
	}{
		{"none", orb.Point{10, 10}, orb.Point{100, 10}, 0},
		{"one", orb.Point{-10, 10}, orb.Point{10, 10}, 1},
		{"through a vertex", orb.Point{-10, 0}, orb.Point{10, 0}, 1},
		{"where three lines join", orb.Point{-10, 100}, orb.Point{10, 100}, 1},
		{"two arms", orb.Point{-100, 150}, orb.Point{100, 150}, 2},
		{"ends on it", orb.Point{-10, 10}, orb.Point{0, 10}, 1},
		{"starts on it", orb.Point{0, 10}, orb.Point{-10, 10}, 1},
		{"starts and ends on streams", orb.Point{0, 0}, orb.Point{300, 0}, 2},
		{"along two lines of one stream", orb.Point{290, 0}, orb.Point{510, 0}, 1},
		{"no length, on it", orb.Point{0, 10}, orb.Point{0, 10}, 1},
		{"no length, on a join", orb.Point{0, 100}, orb.Point{0, 100}, 1},
		{"no length, off it", orb.Point{1, 10}, orb.Point{1, 10}, 0},
		{"a point is no stream", orb.Point{-30, 0}, orb.Point{-30, 60}, 0},
	} {
		if got := x.Crossings(c.a, c.b); got != c.want {
			t.Errorf("%s: %d crossings, want %d", c.name, got, c.want)
		}
		if got := x.Crossings(c.b, c.a); got != c.want {
			t.Errorf("%s, the other way: %d crossings, want %d", c.name, got, c.want)
		}
	}
}

func TestCrossingsAgainstGEOS(t *testing.T) {
	r := rand.New(rand.NewPCG(23, 24))
	var in struct {
		Streams []orb.LineString
		Legs    [][2]orb.Point
	}
	var lines []orb.Geometry
	for range 60 {
		l := wander(r, 3000, 40, 3+r.IntN(40))
		in.Streams = append(in.Streams, l)
		lines = append(lines, l)
	}
	for range 1500 {
		in.Legs = append(in.Legs, [2]orb.Point{{3000 * r.Float64(), 3000 * r.Float64()}, {3000 * r.Float64(), 3000 * r.Float64()}})
	}
	var want []int
	judge(t, "shapely", `
from shapely.geometry import LineString
from shapely.ops import unary_union
data = json.load(sys.stdin)
streams = unary_union([LineString(l) for l in data["Streams"]])
out = []
for leg in data["Legs"]:
    i = LineString(leg).intersection(streams)
    out.append(0 if i.is_empty else len(getattr(i, "geoms", [i])))
print(json.dumps(out))
`, in, &want)
	x, total := NewStreamIndex(lines), 0
	for i, l := range in.Legs {
		got := x.Crossings(l[0], l[1])
		if total += got; got != want[i] {
			t.Errorf("leg %v: %d crossings, GEOS says %d", l, got, want[i])
		}
	}
	if total < 3000 {
		t.Errorf("%d crossings in all: the test is not sharp", total)
	}
}
