package evidence

import (
	"math/rand/v2"
	"testing"

	"rillwood/raster"
)

// A county at 10 m: 20 million cells, four fields.
func BenchmarkCombinePlanes(b *testing.B) {
	for _, c := range []struct {
		name   string
		combos int
	}{{"tabulated", maxCombos}, {"remembered", 0}} {
		b.Run(c.name, func(b *testing.B) {
			f := raster.Frame{W: 5000, H: 4000, Cell: 10}
			rng := rand.New(rand.NewPCG(1, 2))
			items := randomItems(rng, f, 4, 12, true)
			b.SetBytes(int64(f.Cells()))
			b.ResetTimer()
			for range b.N {
				p, _, err := combinePlanes(b.Context(), items, DefaultRule(), f, nil, 1, c.combos)
				if err != nil {
					b.Fatal(err)
				}
				p.Close()
			}
		})
	}
}

func BenchmarkCombine(b *testing.B) {
	shifts := []float64{2, -1.5, 0.75, 0.5}
	for range b.N {
		DefaultRule().Combine(shifts)
	}
}
