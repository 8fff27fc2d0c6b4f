package habitat_test

import (
	"fmt"

	"rillwood/habitat"
)

// Three dead elms in forty carry it: how many to look at for a 95 % chance
// of one find, when the rate is sure, and when it rests on twenty trees?
func ExampleTreesToCheck() {
	sure, _ := habitat.TreesToCheck(3.0/40, 0.95)
	doubtful, _ := habitat.HitRate{Hits: 3, Of: 40, Weight: 20}.Beta().TreesToCheck(0.95)
	fmt.Println(sure, doubtful)
	// Output: 39 120
}

func ExampleWhy() {
	fmt.Println(habitat.Why(habitat.Reasons{
		HeightM: 0.8, SlopePct: 1, Cover: habitat.WoodedWetland, Stream: "Otter Creek", StreamM: 120,
		Dead: 45, TreesFor95: 39, Host: "American elm", Winter: "ridged grey bark, vase-shaped crown", Second: "slippery elm",
	}))
	// Output: Flat ground under wet woods, about 0.8 m above Otter Creek and 120 m from it, is expected to hold about 45 dead or dying host trees, enough for a 95 % chance of one find (39 to check). Look first for dead American elm: ridged grey bark, vase-shaped crown; then slippery elm.
}
