package score_test

import (
	"fmt"

	"rillwood/habitat/score"
)

// Four places with a host tree, six without, and what a map said of them.
func ExampleSample() {
	said := []float64{0.9, 0.7, 0.7, 0.4, 0.8, 0.7, 0.3, 0.3, 0.1, 0.4}
	host := []bool{true, true, true, true, false, false, false, false, false, false}
	s := score.Binary(said, host)
	fmt.Printf("AUC %.2f ± %.2f\n", s.AUC().Value, s.AUC().SE)
	fmt.Printf("Brier %.3f, skill %.2f\n", s.Brier().Value, s.Skill().Value)
	best, _ := s.BestCut()
	fmt.Printf("best cut %g: TSS %.2f\n", best.T, best.TSS().Value)
	// Output:
	// AUC 0.77 ± 0.17
	// Brier 0.203, skill 0.15
	// best cut 0.4: TSS 0.50
}

// Only good ground was looked at.
func ExampleSelect() {
	looked := []float64{0.8, 0.85, 0.9, 0.9, 0.95}
	var lattice []float64
	for i := range 100 {
		lattice = append(lattice, float64(i)/100)
	}
	s := score.Select(looked, lattice)
	fmt.Printf("%.0f %% of the map lies below the middle record\n", 100*s.Below.Value)
	// Output:
	// 90 % of the map lies below the middle record
}
