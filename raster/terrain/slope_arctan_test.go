package terrain

import (
	"math"
	"testing"
)

// The reference is the standard library's math.Atan.
func TestArctanWithinItsPublishedError(t *testing.T) {
	for i := range 200_001 {
		v := math.Exp(float64(i)/200_000*20 - 12)
		if got, want := arctan(v), math.Atan(v); math.Abs(got-want) > 2e-8 {
			t.Fatalf("arctan %g: got %.10f, want %.10f", v, got, want)
		}
	}
	if arctan(0) != 0 || arctan(math.Inf(1)) != math.Pi/2 || !math.IsNaN(arctan(math.NaN())) {
		t.Error("arctan of 0, infinity or NaN")
	}
}
