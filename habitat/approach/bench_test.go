package approach

import (
	"math"
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// county is 60 × 60 km: a grid of roads, winding trails, streams, and open
// water along every tenth stream, 25 m wide on 10 m cells.
func county(r *rand.Rand, segments, streams, patches int) ([]Way, []Start, Ground, []Target) {
	const side, cell = 60000.0, 10.0
	var ways []Way
	left := segments
	for k := 0.0; k <= side && left > 0; k += 800 {
		for _, upright := range []bool{false, true} {
			var line orb.LineString
			for x := 0.0; x <= side; x += 100 {
				p := orb.Point{x + 20*r.Float64(), k + 20*r.Float64()}
				if upright {
					p[0], p[1] = p[1], p[0]
				}
				line = append(line, p)
			}
			left -= len(line) - 1
			ways = append(ways, Way{Line: line, Kind: Road})
		}
	}
	for left > 0 {
		l := wander(r, side, 40, 20+r.IntN(80))
		left -= len(l) - 1
		ways = append(ways, Way{Line: l})
	}
	f := raster.Frame{W: side / cell, H: side / cell, X0: 0, Y0: side, Cell: cell}
	cells := make([]uint8, f.Cells())
	var lines []orb.Geometry
	for i := range streams {
		l := wander(r, side, 50, 25)
		lines = append(lines, l)
		for k := 1; k < len(l) && i%10 == 0; k++ {
			for t := 0.0; t < 1; t += 0.05 {
				p := between(l[k-1], l[k], t)
				for _, d := range []orb.Point{{0, 0}, {10, 0}, {0, 10}, {10, 10}} {
					if x, y, ok := f.At(p[0]+d[0], p[1]+d[1]); ok {
						cells[y*f.W+x] = WaterBit
					}
				}
			}
		}
	}
	var starts []Start
	for range 1500 {
		starts = append(starts, Start{Point: orb.Point{side * r.Float64(), side * r.Float64()}})
	}
	var targets []Target
	for range patches {
		// Patches lie beside streams.
		l := lines[r.IntN(len(lines))].(orb.LineString)
		c, size := l[r.IntN(len(l))], 40+120*r.Float64()
		var border []orb.Point
		for k := range 40 {
			s, co := math.Sincos(float64(k) / 40 * 2 * math.Pi)
			border = append(border, orb.Point{c[0] + size*co, c[1] + size*s})
		}
		targets = append(targets, Target{Border: border})
	}
	return ways, starts, land{NewStreamIndex(lines), &WaterPlane{Frame: f, Cell: func(x, y int) uint8 { return cells[y*f.W+x] }},
		func(p orb.Point) float64 { return 200 + 30*math.Sin(p[0]/700)*math.Cos(p[1]/900) }}, targets
}

// BenchmarkTenThousandPatches: 500,000 sides of paths and roads, 20,000 streams,
// 10,000 patches with 40 border points each.
func BenchmarkTenThousandPatches(b *testing.B) {
	ways, starts, g, targets := county(rand.New(rand.NewPCG(51, 52)), 500_000, 20_000, 10_000)
	b.Run("build", func(b *testing.B) {
		for b.Loop() {
			n, _, err := Build(b.Context(), ways, starts, g, Options{})
			if err != nil {
				b.Fatal(err)
			}
			points, pieces := n.Size()
			b.ReportMetric(float64(points), "points")
			b.ReportMetric(float64(pieces), "pieces")
		}
	})
	n, warnings, err := Build(b.Context(), ways, starts, g, Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Logf("%q", warnings)
	b.Run("walks", func(b *testing.B) {
		ok, crossings := 0, 0
		for b.Loop() {
			walks, err := n.All(b.Context(), targets)
			if err != nil {
				b.Fatal(err)
			}
			ok, crossings = 0, 0
			for _, w := range walks {
				if w.OK {
					ok++
				}
				if w.Crossings > 0 {
					crossings++
				}
			}
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(targets)), "ns/patch")
		b.ReportMetric(float64(ok), "reached")
		b.ReportMetric(float64(crossings), "crossing")
	})
	runtime.KeepAlive(n)
}

// BenchmarkIsland is the dearest case: every leg within reach is asked and none
// is dry.
func BenchmarkIsland(b *testing.B) {
	ways, starts, g, _ := county(rand.New(rand.NewPCG(53, 54)), 500_000, 2000, 0)
	wet := g.(land)
	inner := wet.WaterPlane.Cell
	wet.WaterPlane = &WaterPlane{Frame: wet.Frame, Cell: func(x, y int) uint8 {
		if d := max(math.Abs(float64(x-3000)), math.Abs(float64(y-3000))); d > 10 && d < 16 {
			return WaterBit
		}
		return inner(x, y)
	}}
	n, _, err := Build(b.Context(), ways, starts, wet, Options{})
	if err != nil {
		b.Fatal(err)
	}
	var target Target
	for k := range 40 {
		s, c := math.Sincos(float64(k) / 40 * 2 * math.Pi)
		target.Border = append(target.Border, orb.Point{30000 + 60*c, 30000 + 60*s})
	}
	for b.Loop() {
		if w := n.To(target); w.OK && w.StraightM > 0 {
			b.Fatalf("a walk to an island: %+v", w)
		}
	}
}
