package habitat

import (
	"math"
	"slices"
	"testing"
)

func TestLayersDone(t *testing.T) {
	var told []float64
	begin := layersDone([]string{"bottomland", "hosts", "slope"}, 10, func(done float64) { told = append(told, done) })
	begin("bottomland")
	hosts := begin("hosts")
	hosts(0.5)
	begin("slope")(1)
	// 1, 10 × 1.4 and 1 make 16.
	want := []float64{0, 1.0 / 16, 8.0 / 16, 15.0 / 16, 1}
	if !slices.EqualFunc(told, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }) {
		t.Errorf("told %v, want %v", told, want)
	}
}

func TestLayerWork(t *testing.T) {
	for name := range layerWork {
		if !slices.Contains(LayerNames, name) {
			t.Errorf("%q is no layer", name)
		}
	}
	s := inventedSurvey(t)
	s.Output.Layers = []string{"none"}
	if got := s.LayerWork(); got != 0 {
		t.Errorf("no layers are %g of the work", got)
	}
	s.Output.Layers = []string{"bottomland"}
	one := s.LayerWork()
	s.Output.Layers = []string{"all"}
	if all := s.LayerWork(); !(one > 0 && one < 0.1 && all > 0.8 && all < 1) {
		t.Errorf("one layer is %g of the work, all that the survey has inputs for %g", one, all)
	}
}
