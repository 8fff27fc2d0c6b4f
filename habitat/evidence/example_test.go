package evidence_test

import (
	"fmt"

	"rillwood/habitat/evidence"
)

// A soil map and a flood map agree, a drawn polygon does not; the terrain
// leans towards bottomland by itself.
func ExampleRule() {
	rule := evidence.Rule{Temper: 0.5, Cap: 3, Certainty: 3}
	shift := rule.Combine([]float64{2, 1.75, -0.5})
	fmt.Println("shift", shift)
	for _, terrain := range []float64{-4, 0, 1, 5} {
		fmt.Println(terrain, "becomes", rule.Apply(terrain, shift))
	}
	// Output:
	// shift 2.375
	// -4 becomes -1.625
	// 0 becomes 2.375
	// 1 becomes 3
	// 5 becomes 5
}
