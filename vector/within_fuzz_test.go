package vector

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

func FuzzFillWithin(f *testing.F) {
	f.Add(12.0, 3.0, 40.0, 33.0, 10.0)
	f.Add(10.0, 10.0, 30.0, 30.0, 0.0)
	f.Add(5.0, 25.0, 65.0, 25.0, 10.0)
	f.Add(-1e9, 1e9, 1e9, -1e9, 1e9)
	f.Add(35.0, 25.0, 35.0, 25.0000001, 1e-300)
	f.Add(math.NaN(), 0.0, 1.0, 1.0, 1.0)
	f.Fuzz(func(t *testing.T, ax, ay, bx, by, d float64) {
		fr := small(7, 5)
		a, b := orb.Point{ax, ay}, orb.Point{bx, by}
		p := raster.PlaneOf(7, 5, make([]uint8, 35))
		if _, err := FillWithin(fr, []orb.Geometry{orb.LineString{a, b}}, func(int) float64 { return d }, func(int) uint8 { return 1 }, p); err != nil {
			return
		}
		for c, got := range p.Mem() {
			x, y := fr.Center(c%7, c/7)
			dist := math.Sqrt(lineDistance2(orb.Point{x, y}, []orb.Point{a, b}))
			// What the plain formula itself may be off by at this size.
			off := 1e-12 * (math.Abs(ax) + math.Abs(ay) + math.Abs(bx) + math.Abs(by) + d + 100) * 100
			if got == 0 && dist < d-off || got == 1 && d > 0 && dist > d+off {
				t.Errorf("%v–%v within %g: cell %d at %g m is %d", a, b, d, c, dist, got)
			}
		}
	})
}

func BenchmarkFillWithin(b *testing.B) {
	for _, dist := range []float64{0, 30, 200} {
		b.Run(fmt.Sprintf("%gm", dist), func(b *testing.B) {
			r := rand.New(rand.NewPCG(27, 28))
			f := small(5000, 4000)
			var all []orb.Geometry
			for range 50_000 {
				p := orb.Point{50000 * r.Float64(), 40000 * r.Float64()}
				l := orb.LineString{p}
				for range 10 {
					p[0] += 60 * (r.Float64() - 0.5)
					p[1] += 60 * (r.Float64() - 0.5)
					l = append(l, p)
				}
				all = append(all, l)
			}
			p := raster.PlaneOf(f.W, f.H, make([]uint8, f.Cells()))
			for b.Loop() {
				if _, err := FillWithin(f, all, func(int) float64 { return dist }, func(int) uint8 { return 1 }, p); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
