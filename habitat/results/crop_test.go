package results

import (
	"context"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

// A crop is the cells that a bound meets, as they are, for any bound.
func TestCropIsTheCellsThatMeetABound(t *testing.T) {
	const w, h = 45, 35
	value := func(x, y int) float32 {
		if (x*3+y)%11 == 0 {
			return float32(math.NaN())
		}
		return float32(y*w+x) / (w * h)
	}
	light := func(x, y int) uint8 { return uint8((x + 2*y) % 256) }
	r := opened(t, made{w: w, h: h, suitability: value, relief: light}.alone(t))
	rapid.Check(t, func(t *rapid.T) {
		// In quarters of a cell, so that bounds run through cells and along them.
		at := func(name string, most int) float64 {
			return float64(rapid.IntRange(-20, 4*most+20).Draw(t, name)) / 4
		}
		x0, y0, x1, y1 := at("x0", w), at("y0", h), at("x1", w), at("y1", h)
		b := orb.Bound{Min: orb.Point{madeX0 + 10*min(x0, x1), madeY0 - 10*max(y0, y1)}, Max: orb.Point{madeX0 + 10*max(x0, x1), madeY0 - 10*min(y0, y1)}}
		g, err := r.Crop(context.Background(), b)
		if err != nil {
			t.Fatal(err)
		}
		// Plainly: a cell is in when some of its inside is, or, for a bound without
		// an inside, when the bound lies within it.
		type cell struct{ x, y int }
		var want []cell
		for y := range h {
			for x := range w {
				if overlaps(min(x0, x1), max(x0, x1), x) && overlaps(min(y0, y1), max(y0, y1), y) {
					want = append(want, cell{x, y})
				}
			}
		}
		if len(want) == 0 || g == nil {
			if len(want) > 0 || g != nil {
				t.Fatalf("%d cells wanted, crop %+v", len(want), g)
			}
			return
		}
		if g.W*g.H != len(want) || len(g.Suitability) != len(want) || len(g.Relief) != len(want) {
			t.Fatalf("%d × %d cells, want %d", g.W, g.H, len(want))
		}
		for i, c := range want {
			if v := value(c.x, c.y); g.Suitability[i] != v && (v == v || g.Suitability[i] == g.Suitability[i]) {
				t.Fatalf("cell %v has %g, want %g", c, g.Suitability[i], v)
			}
			l, v := light(c.x, c.y), g.Relief[i]
			if l == 0 && v == v || l > 0 && math.Abs(float64(v)-float64(l-1)/254) > 1e-6 {
				t.Fatalf("cell %v has light %g, stored %d", c, v, l)
			}
		}
		first, last := want[0], want[len(want)-1]
		e, n := r.Frame.Corner(float64(first.x), float64(first.y))
		e2, n2 := r.Frame.Corner(float64(last.x+1), float64(last.y+1))
		if g.Bound != (orb.Bound{Min: orb.Point{e, n2}, Max: orb.Point{e2, n}}) || g.Frame.X0 != e || g.Frame.Y0 != n || g.Frame.Cell != 10 {
			t.Fatalf("bound %v, frame %v", g.Bound, g.Frame)
		}
	})
}

// overlaps tells whether the cell from k to k+1 shares more than an edge with
// lo to hi, or holds it where lo is hi and no edge.
func overlaps(lo, hi float64, k int) bool {
	if lo == hi {
		return lo > float64(k) && lo < float64(k+1)
	}
	return lo < float64(k+1) && hi > float64(k)
}

// Bounds that are none give nothing, and what no sheet can show is refused.
func TestCropOfStrangeBounds(t *testing.T) {
	r := opened(t, made{}.write(t))
	nan, inf := math.NaN(), math.Inf(1)
	for _, b := range []orb.Bound{
		{Min: orb.Point{nan, nan}, Max: orb.Point{nan, nan}},
		{Min: orb.Point{madeX0, nan}, Max: orb.Point{madeX0 + 100, madeY0}},
		{Min: orb.Point{madeX0 + 100, madeY0 - 100}, Max: orb.Point{madeX0, madeY0}},
		{Min: orb.Point{inf, inf}, Max: orb.Point{inf, inf}},
		{Min: orb.Point{-1e300, -1e300}, Max: orb.Point{-1e299, -1e299}},
		{},
	} {
		if g, err := r.Crop(context.Background(), b); g != nil || err != nil {
			t.Errorf("%v: %+v, %v", b, g, err)
		}
	}
	everything := orb.Bound{Min: orb.Point{-inf, -inf}, Max: orb.Point{inf, inf}}
	if g, err := r.Crop(context.Background(), everything); err != nil || g.W != 60 || g.H != 40 || g.Relief != nil {
		t.Errorf("%+v, %v", g, err)
	}
	r.Frame.W, r.Frame.H = 1<<20, 1<<20
	if g, err := r.Crop(context.Background(), everything); err == nil {
		t.Errorf("%d × %d cells", g.W, g.H)
	}
}
