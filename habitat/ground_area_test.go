package habitat

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// An area counts when it holds the middle of a cell: found by hand, and on random
// rectangles by looking at every middle.
func TestAreaCoversACell(t *testing.T) {
	f := raster.Frame{W: 40, H: 30, X0: 1000, Y0: 5000, Cell: 10}
	rect := func(w, s, e, n float64) orb.Geometry {
		return orb.MultiPolygon{{{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}}}}
	}
	for _, c := range []struct {
		name string
		area orb.Geometry
		want bool
	}{
		{"smaller than a cell, beside its middle", rect(1001, 4991, 1004, 4999), false},
		{"smaller than a cell, over its middle", rect(1004, 4994, 1006, 4996), true},
		{"long and thin, between the middles", rect(1000, 4991, 1400, 4994), false},
		{"elsewhere", rect(9000, 4000, 9100, 4100), false},
		{"larger than the map", rect(0, 0, 9000, 9000), true},
	} {
		if err := coversACell(c.area, f); (err == nil) != c.want {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	r := rand.New(rand.NewPCG(61, 62))
	none := 0
	for range 300 {
		w, s := 980+440*r.Float64(), 4680+340*r.Float64()
		e, n := w+12*r.Float64(), s+12*r.Float64()
		want := false
		for y := range f.H {
			for x := range f.W {
				cx, cy := f.Center(x, y)
				want = want || cx > w && cx < e && cy > s && cy < n
			}
		}
		if err := coversACell(rect(w, s, e, n), f); (err == nil) != want {
			t.Errorf("%g %g %g %g: %v, want %t", w, s, e, n, err, want)
		}
		if !want {
			none++
		}
	}
	if none < 50 || none > 250 {
		t.Errorf("%d of 300 areas hold no middle: the test is not sharp", none)
	}
}
