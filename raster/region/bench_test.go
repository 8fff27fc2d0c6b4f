package region

import (
	"context"
	"math/rand/v2"
	"testing"

	"rillwood/raster"
)

// BenchmarkDistance runs on 5000 × 4000 cells with 40 winding streams and
// scattered single seeds, in memory, on two workers.
func BenchmarkDistance(b *testing.B) {
	w, h := 5000, 4000
	rng := rand.New(rand.NewPCG(1, 1))
	cells := make([]uint8, w*h)
	for range 200 {
		cells[rng.IntN(w*h)] = 1
	}
	for range 40 {
		x := float64(rng.IntN(w))
		for y := 0.0; y < float64(h) && x >= 0 && x < float64(w); y += 0.5 {
			cells[int(y)*w+int(x)] = 1
			x += rng.NormFloat64() * 0.7
		}
	}
	seed, out := raster.PlaneOf(w, h, cells), raster.PlaneOf(w, h, make([]float32, w*h))
	for _, c := range []struct {
		name    string
		workers int
	}{{"workers=1", 1}, {"workers=2", 2}} {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(w * h))
			for b.Loop() {
				if err := Distance(context.Background(), seed, 1, 10, out, c.workers); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLabel(b *testing.B) {
	runs := riverRuns(5000, 4000, 1)
	b.ReportMetric(float64(len(runs)), "runs")
	b.ReportAllocs()
	for b.Loop() {
		Label(runs)
	}
}

func BenchmarkScoutable(b *testing.B) {
	runs := riverRuns(5000, 4000, 1)
	b.ReportAllocs()
	for b.Loop() {
		Scoutable(runs, Options{MinCells: 100, MaxCells: 1200, MinHole: 30})
	}
}

func BenchmarkTrace(b *testing.B) {
	patches := Scoutable(riverRuns(5000, 4000, 1), Options{MinCells: 100, MaxCells: 1200, MinHole: 30})
	b.Run("trace", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			Trace(patches)
		}
	})
	b.Run("simplify", func(b *testing.B) {
		top := Trace(patches)
		_, before := top.Size()
		b.ReportAllocs()
		for b.Loop() {
			top.Simplify(0)
		}
		arcs, after := top.Size()
		b.ReportMetric(float64(len(patches)), "patches")
		b.ReportMetric(float64(arcs), "arcs")
		b.ReportMetric(float64(before), "corners")
		b.ReportMetric(float64(after), "kept")
	})
	b.Run("polygons", func(b *testing.B) {
		top := Trace(patches)
		top.Simplify(0)
		b.ReportAllocs()
		for b.Loop() {
			for i := range patches {
				top.Polygons(i)
			}
		}
	})
}

func BenchmarkZonal(b *testing.B) {
	w, h := 5000, 4000
	patches := Scoutable(riverRuns(w, h, 1), Options{MinCells: 100, MaxCells: 1200, MinHole: 30})
	plane := raster.PlaneOf(w, h, make([]float32, w*h))
	for b.Loop() {
		if _, err := Zonal(context.Background(), plane, patches); err != nil {
			b.Fatal(err)
		}
	}
}
