package score

import (
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

const manyRows = 100_000

func BenchmarkAUC(b *testing.B) {
	p, of, found := chances(rand.New(rand.NewPCG(1, 1)), manyRows, 1, 5)
	s, err := NewSample(p, of, found)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.AUC()
	}
}

func BenchmarkLogits(b *testing.B) {
	p, of, found := chances(rand.New(rand.NewPCG(1, 1)), manyRows, 1, 5)
	s, err := NewSample(p, of, found)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		s.Logits()
	}
}

func BenchmarkBoyce(b *testing.B) {
	p, _, found := chances(rand.New(rand.NewPCG(1, 1)), manyRows, 1, 5)
	for b.Loop() {
		Boyce(Weighted{p, found}, Weighted{Value: p}, BoyceOptions{})
	}
}

func BenchmarkBlockSide(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	points, z := make([]orb.Point, manyRows), make([]float64, manyRows)
	for i := range points {
		points[i], z[i] = orb.Point{60000 * r.Float64(), 60000 * r.Float64()}, r.NormFloat64()
	}
	for b.Loop() {
		BlockSide(points, z, SideOptions{})
	}
}

func BenchmarkEvaluate(b *testing.B) {
	s := study(2000)
	for b.Loop() {
		if _, err := Evaluate(s); err != nil {
			b.Fatal(err)
		}
	}
}
