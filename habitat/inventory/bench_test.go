package inventory

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
)

// 100 000 trees of five kinds over 4 million cells of 10 m, kernel of 100 m.
func BenchmarkReadTrees(b *testing.B) {
	f := ground(b, 2000, 2000, 10)
	rng := rand.New(rand.NewPCG(1, 1))
	var s strings.Builder
	s.WriteString("x,y,spcd,dia_in,statuscd\n")
	for range 100_000 {
		fmt.Fprintf(&s, "%.1f,%.1f,%d,%.1f,%d\n", 500000+20000*rng.Float64(), 4380000+20000*rng.Float64(), []int{970, 742, 544, 317, 131}[rng.IntN(5)], 4+16*rng.Float64(), 1+rng.IntN(2))
	}
	src := TreeSource{CSV: write(b, "t.csv", s.String()), CRS: utm}
	b.ReportAllocs()
	for b.Loop() {
		all, _, err := ReadTrees(context.Background(), src, woods(), f, nil, 2)
		if err != nil {
			b.Fatal(err)
		}
		Close(all)
	}
}
