package terrain

import (
	"context"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"rillwood/raster"
)

// The benchmarks run on 5000 × 4000 cells (a county at 10 m), in memory, with
// two workers and tiles of 512.
const benchW, benchH = 5000, 4000

var benchOptions = Options{Tile: 512, Workers: 2}

// hills is their ground: hills of several sizes with a little noise, so that
// there are pits by the hundred thousand.
var hills = sync.OnceValue(func() *raster.Plane[float32] {
	rng := rand.New(rand.NewPCG(7, 7))
	z := make([]float32, benchW*benchH)
	for y := range benchH {
		for x := range benchW {
			fx, fy := float64(x), float64(y)
			z[y*benchW+x] = float32(200 + 0.01*fx + 40*math.Sin(fx/300)*math.Cos(fy/270) +
				8*math.Sin(fx/41+fy/60) + 2*math.Sin(fx/9)*math.Cos(fy/7) + 0.3*rng.Float64())
		}
	}
	return raster.PlaneOf(benchW, benchH, z)
})

var hillRouting = sync.OnceValues(func() (*Routing, error) {
	return Route(context.Background(), &Surface{Z: hills()}, benchOptions)
})

var hillArea = sync.OnceValues(func() (*raster.Plane[float32], error) {
	r, err := hillRouting()
	if err != nil {
		return nil, err
	}
	return Accumulate(context.Background(), r, 1e-4, nil, benchOptions)
})

func perCell(b *testing.B, run func() error) {
	b.Helper()
	for b.Loop() {
		if err := run(); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(benchW*benchH), "ns/cell")
}

func notShort(b *testing.B) {
	b.Helper()
	if testing.Short() {
		b.Skip("20 million cells: not with -short")
	}
}

func BenchmarkFill(b *testing.B) {
	notShort(b)
	z := hills()
	perCell(b, func() error {
		p, err := Fill(context.Background(), z, benchOptions)
		p.Close()
		return err
	})
}

func BenchmarkRoute(b *testing.B) {
	notShort(b)
	z := hills()
	perCell(b, func() error {
		_, err := Route(context.Background(), &Surface{Z: z}, benchOptions)
		return err
	})
}

func BenchmarkAccumulate(b *testing.B) {
	notShort(b)
	r, err := hillRouting()
	if err != nil {
		b.Fatal(err)
	}
	perCell(b, func() error {
		_, err := Accumulate(context.Background(), r, 1e-4, nil, benchOptions)
		return err
	})
}

func BenchmarkHeights(b *testing.B) {
	notShort(b)
	r, err := hillRouting()
	if err != nil {
		b.Fatal(err)
	}
	a, err := hillArea()
	if err != nil {
		b.Fatal(err)
	}
	st := &Streams{Area: a, Threshold: 0.5, Sizes: []float64{0, 2, 10, 50}}
	perCell(b, func() error {
		return Heights(context.Background(), st, r, hills(), benchOptions, func(int, *View) error { return nil })
	})
}

func BenchmarkSlope(b *testing.B) {
	notShort(b)
	z := hills()
	perCell(b, func() error {
		_, err := Slope(context.Background(), z, 10, benchOptions)
		return err
	})
}

func BenchmarkValleyFlatness(b *testing.B) {
	notShort(b)
	z := hills()
	perCell(b, func() error {
		_, err := ValleyFlatness(context.Background(), z, 10, 5, benchOptions)
		return err
	})
}
