package vector

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"rillwood/raster"
)

// near runs FillWithin on an empty plane with one distance and the value 1.
func near(t testing.TB, f raster.Frame, s *raster.Scratch, distM float64, geoms ...orb.Geometry) []uint8 {
	t.Helper()
	p, err := raster.NewPlane[uint8](f.W, f.H, s)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	n, err := FillWithin(f, geoms, func(int) float64 { return distM }, func(int) uint8 { return 1 }, p)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]uint8, f.Cells())
	if err := p.Read(0, 0, f.W, f.H, out); err != nil {
		t.Fatal(err)
	}
	ones := 0
	for _, v := range out {
		ones += int(v)
	}
	if n != ones {
		t.Errorf("%d cells written by its own account, %d by counting", n, ones)
	}
	return out
}

func picture(w int, cells []uint8) string {
	var b strings.Builder
	for row := range slices.Chunk(cells, w) {
		for _, v := range row {
			b.WriteByte(".123456789"[v])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// Worked by hand on centres at 5, 15, 25 … m: distances are whole numbers or
// sides of the 3-4-5 triangle, so that many centres lie exactly at the limit.
func TestFillWithinByHand(t *testing.T) {
	f := small(7, 5) // x 0–70, y 0–50
	square := orb.Ring{{15, 15}, {55, 15}, {55, 45}, {15, 45}, {15, 15}}
	for _, c := range []struct {
		name string
		g    orb.Geometry
		dist float64
		want string
	}{
		{"point, limit on centres", orb.Point{35, 25}, 10, "" +
			".......\n...1...\n..111..\n...1...\n.......\n"},
		{"point, just short of it", orb.Point{35, 25}, 9.999, "" +
			".......\n.......\n...1...\n.......\n.......\n"},
		{"point, 30-40-50 less one row", orb.Point{5, 5}, 50, "" +
			"1111...\n11111..\n11111..\n11111..\n111111.\n"},
		{"multipoint", orb.MultiPoint{{5, 5}, {65, 45}}, 1, "" +
			"......1\n.......\n.......\n.......\n1......\n"},
		{"level line", orb.LineString{{15, 25}, {55, 25}}, 10, "" +
			".......\n.11111.\n1111111\n.11111.\n.......\n"},
		{"upright line", orb.LineString{{35, 50}, {35, 25}}, 10, "" +
			"..111..\n..111..\n..111..\n...1...\n.......\n"},
		// 3x = 4y: (5, 5), (35, 25) and (45, 35) are exactly 1 m from it.
		{"slanting line", orb.LineString{{-20, -15}, {60, 45}}, 1, "" +
			".......\n....1..\n...1...\n.......\n1......\n"},
		{"two lines", orb.MultiLineString{{{5, 5}, {5, 45}}, {{65, 5}, {65, 5}}}, 0.5, "" +
			"1......\n1......\n1......\n1......\n1.....1\n"},
		{"polygon, outline counts", orb.Polygon{square}, 0, "" +
			".11111.\n.11111.\n.11111.\n.11111.\n.......\n"},
		{"polygon and 10 m", orb.Polygon{square}, 10, "" +
			"1111111\n1111111\n1111111\n1111111\n.11111.\n"},
		{"hole too wide to close", orb.Polygon{square, {{26, 26}, {44, 26}, {44, 44}, {26, 44}, {26, 26}}}, 8, "" +
			".11111.\n.11.11.\n.11111.\n.11111.\n.......\n"},
		{"line passing by at 0: its squares", orb.LineString{{2, 12}, {38, 12}, {38, 33}}, 0, "" +
			".......\n...1...\n...1...\n1111...\n.......\n"},
		{"line along an edge at 0: both sides", orb.LineString{{12, 20}, {28, 20}}, 0, "" +
			".......\n.......\n.11....\n.11....\n.......\n"},
		{"point at 0", orb.Point{22, 48}, 0, "" +
			"..1....\n.......\n.......\n.......\n.......\n"},
		{"corner to corner at 0", orb.LineString{{10, 10}, {30, 30}}, 0, "" +
			".......\n..11...\n.111...\n111....\n11.....\n"},
		{"all kinds in one", orb.Collection{orb.Point{5, 45}, orb.LineString{{65, 5}, {65, 45}}, orb.Polygon{{{20, 20}, {40, 20}, {40, 30}, {20, 30}, {20, 20}}}}, 1, "" +
			"1.....1\n......1\n..11..1\n......1\n......1\n"},
		{"from outside", orb.Point{-5, 25}, 20, "" +
			".......\n1......\n11.....\n1......\n.......\n"},
		{"too far off", orb.LineString{{-1e6, -1e6}, {1e6, -1e6}}, 100, strings.Repeat(".......\n", 5)},
		{"nothing", nil, 5, strings.Repeat(".......\n", 5)},
		{"no vertex", orb.LineString{}, 5, strings.Repeat(".......\n", 5)},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, picture(7, near(t, f, nil, c.dist, c.g))); d != "" {
				t.Errorf("cells (-want +got):\n%s", d)
			}
		})
	}
}

func TestFillWithinLaterStays(t *testing.T) {
	f := small(6, 1)
	p := raster.PlaneOf(6, 1, []uint8{9, 9, 9, 9, 9, 9})
	n, err := FillWithin(f, []orb.Geometry{orb.Point{15, 5}, nil, orb.Point{25, 5}},
		func(i int) float64 { return []float64{10, 0, 5}[i] }, func(i int) uint8 { return uint8(i) }, p)
	if err != nil || n != 3 {
		t.Errorf("%d cells, %v; want 3", n, err)
	}
	if d := cmp.Diff([]uint8{0, 0, 2, 9, 9, 9}, p.Mem()); d != "" {
		t.Errorf("cells (-want +got):\n%s", d)
	}
}

func TestFillWithinRefuses(t *testing.T) {
	f := small(4, 4)
	p := raster.PlaneOf(4, 4, make([]uint8, 16))
	for _, c := range []struct {
		g    orb.Geometry
		dist float64
		want string
	}{
		{orb.Point{1, 1}, -1, "feature 0: a distance of -1 m"},
		{orb.Point{1, 1}, math.NaN(), "feature 0: a distance of NaN m"},
		{orb.Point{1, 1}, math.Inf(1), "feature 0: a distance of +Inf m"},
		{orb.LineString{{1, 1}, {math.NaN(), 2}}, 5, "on no map"},
		{orb.MultiPoint{{1, 1}, {1e300, 2}}, 5, "on no map"},
	} {
		_, err := FillWithin(f, []orb.Geometry{c.g}, func(int) float64 { return c.dist }, func(int) uint8 { return 1 }, p)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v within %g: %v; want %q", c.g, c.dist, err, c.want)
		}
	}
}

// wholeNear is the plain answer in whole numbers, so exact: does the cell
// centre (x, y) lie within reach of the side?
func wholeNear(x, y int64, a, b [2]int64, reach int64) bool {
	vx, vy, wx, wy := b[0]-a[0], b[1]-a[1], x-a[0], y-a[1]
	along, length2 := wx*vx+wy*vy, vx*vx+vy*vy
	switch {
	case along <= 0:
		return wx*wx+wy*wy <= reach*reach
	case along >= length2:
		wx, wy = x-b[0], y-b[1]
		return wx*wx+wy*wy <= reach*reach
	}
	across := wx*vy - wy*vx
	return across*across <= reach*reach*length2
}

// Whole coordinates have many centres exactly at the limit; none may be lost.
func TestFillWithinExactInWholeNumbers(t *testing.T) {
	r := rand.New(rand.NewPCG(21, 22))
	f := small(50, 40)
	f.X0, f.Y0 = 500000, 4600400
	ties := 0
	for i := range 400 {
		grain := []int64{1, 5, 10}[r.IntN(3)]
		place := func() [2]int64 {
			return [2]int64{(r.Int64N(900/grain) - 200/grain) * grain, (r.Int64N(800/grain) - 200/grain) * grain}
		}
		reach := []int64{5, 10, 25, 50, 65, 13}[r.IntN(6)]
		whole := make([][2]int64, 1+r.IntN(5))
		var line orb.LineString
		for k := range whole {
			whole[k] = place()
			line = append(line, orb.Point{float64(whole[k][0]) + f.X0, float64(whole[k][1]) + 4600000})
		}
		if len(whole) == 1 {
			whole = append(whole, whole[0])
		}
		got := near(t, f, nil, float64(reach), line)
		for c := range got {
			x, y := int64(c%f.W)*10+5, int64(f.H-1-c/f.W)*10+5
			want, less := uint8(0), uint8(0)
			for k := 1; k < len(whole); k++ {
				if wholeNear(x, y, whole[k-1], whole[k], reach) {
					want = 1
				}
				if wholeNear(4*x, 4*y, scale4(whole[k-1]), scale4(whole[k]), 4*reach-1) {
					less = 1
				}
			}
			ties += int(want - less)
			if got[c] != want {
				t.Fatalf("case %d: %v within %d: centre %d, %d is %d, want %d", i, whole, reach, x, y, got[c], want)
			}
		}
	}
	if ties < 500 {
		t.Errorf("only %d centres near the limit: the test is weaker than it says", ties)
	}
}

func scale4(p [2]int64) [2]int64 { return [2]int64{4 * p[0], 4 * p[1]} }

// Slanting sides with whole lengths, laid so that a centre lies exactly at the
// limit: what is worked out with roots and quotients misses some of these,
// and they must be settled by the distance itself.
func TestFillWithinExactAlongSlants(t *testing.T) {
	r := rand.New(rand.NewPCG(33, 34))
	f := small(50, 40)
	f.X0, f.Y0 = 500000, 4600400
	triples := [][3]int64{{3, 4, 5}, {5, 12, 13}, {8, 15, 17}, {20, 21, 29}, {7, 24, 25}}
	for i := range 2000 {
		k := triples[r.IntN(len(triples))]
		if r.IntN(2) == 0 {
			k[0], k[1] = k[1], k[0]
		}
		if r.IntN(2) == 0 {
			k[0] = -k[0]
		}
		m := 1 + r.Int64N(3)
		x, y := r.Int64N(50)*10+5, r.Int64N(40)*10+5
		before, after := 1+r.Int64N(10), 1+r.Int64N(10)
		a := [2]int64{x + m*k[1] - before*k[0], y - m*k[0] - before*k[1]}
		b := [2]int64{x + m*k[1] + after*k[0], y - m*k[0] + after*k[1]}
		reach := m * k[2]
		got := near(t, f, nil, float64(reach), orb.LineString{{float64(a[0]) + f.X0, float64(a[1]) + 4600000}, {float64(b[0]) + f.X0, float64(b[1]) + 4600000}})
		if got[(f.H-1-int(y/10))*f.W+int(x/10)] != 1 {
			t.Fatalf("case %d: %v–%v passes the centre %d, %d at %d m, which is the limit: left out", i, a, b, x, y, reach)
		}
		for c := range got {
			cx, cy := int64(c%f.W)*10+5, int64(f.H-1-c/f.W)*10+5
			if want := wholeNear(cx, cy, a, b, reach); want != (got[c] == 1) {
				t.Fatalf("case %d: %v–%v within %d: centre %d, %d is %d, want %t", i, a, b, reach, cx, cy, got[c], want)
			}
		}
	}
}
