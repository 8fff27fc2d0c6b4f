package habitat

import (
	"testing"

	"rillwood/habitat/inventory"
)

// The plan counts at least the planes that reading the layers leaves behind,
// and not many more.
func TestPlanCountsTheFurtherLayers(t *testing.T) {
	s := allLayersSurvey(t)
	in, err := OpenInputs(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	g, err := readGround(t.Context(), in, runOptions{workers: 2, tile: defaultTile})
	if err != nil {
		t.Fatal(err)
	}
	defer g.close()
	bytes := int64(len(g.items)) + 1 // and what they say together
	bytes += int64(len(g.flatness.Mem())+len(g.access.Status.Mem())+len(g.keepOut.Plane.Mem())) / int64(g.frame.Cells())
	weights := map[*uint8]bool{}
	for _, m := range g.measured {
		bytes += 2
		if m.DeadShare != nil {
			bytes++
		}
		if w := &m.Weight.Mem()[0]; !weights[w] {
			weights[w] = true
			bytes++
		}
	}
	if planned := s.layerBytes(); planned < bytes || planned > bytes+20 {
		t.Errorf("%d bytes a cell are planned, %d are held", planned, bytes)
	}
	if n := DefaultSurvey().layerBytes(); n != 0 {
		t.Errorf("%d bytes a cell are planned for no layers", n)
	}
}

// blend: 0 in a survey means no blending at all, not the readers' own default.
func TestBlendOfNothing(t *testing.T) {
	s := allLayersSurvey(t)
	s.Inventory.BlendM = 0
	in, err := OpenInputs(t.Context(), s)
	if err != nil {
		t.Fatal(err)
	}
	g := &ground{frame: in.Frame}
	defer g.close()
	if err := g.readInventory(t.Context(), in, runOptions{workers: 2}); err != nil {
		t.Fatal(err)
	}
	full := 0
	for _, m := range g.measured {
		for _, w := range m.Weight.Mem() {
			if w != 0 && w != inventory.WeightUnit {
				t.Fatalf("a weight of %d", w)
			}
			full += int(w)
		}
	}
	if full == 0 {
		t.Fatal("nothing measured")
	}
}
