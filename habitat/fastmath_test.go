package habitat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The reference is the standard library's math.Log and math.Exp.
func TestFastMathIsCloseAndMonotone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200_000 {
		x := math.Exp(rng.Float64()*60 - 30)
		if got, want := fastLn(x), math.Log(x); math.Abs(got-want) > 1e-7 {
			t.Fatalf("ln %g: got %g, want %g", x, got, want)
		}
		if y := x * (1 + 1e-12*rng.Float64()); fastLn(y) < fastLn(x) {
			t.Fatalf("ln falls between %g and %g", x, y)
		}
		l := rng.Float64()*44 - 22
		if got, want := fastLogistic(l), Logistic(l); math.Abs(got-want) > 2e-7 {
			t.Fatalf("logistic %g: got %g, want %g", l, got, want)
		}
		if m := l + rng.Float64()*1e-3; fastLogistic(m) < fastLogistic(l) {
			t.Fatalf("logistic falls between %g and %g", l, m)
		}
	}
	for range 100_000 {
		m := rng.Float64()*8 - 3
		if got, want := float64(ratioOf(m)), math.Exp(m)*ratioUnit; math.Abs(got-min(want, storedNone-1)) > 0.5+5e-7*want { // rounding, and the table's own error (step²/8)
			t.Fatalf("ratio e^%g: got %g, want %g", m, got, want)
		}
	}
	if fastLogistic(math.Inf(-1)) != 0 || fastLogistic(math.Inf(1)) != 1 || fastLogistic(math.NaN()) != 0 {
		t.Error("logistic of infinities and NaN")
	}
}
