package habitat

import (
	"testing"

	"rillwood/habitat/handover"
)

// A result that handover does not know by name would be refused at the end of
// the run that made it.
func TestEveryResultHasANameHandoverKnows(t *testing.T) {
	for _, name := range append([]string{"suitability.tif", "shortlist.geojson", recordName, "layers/height.tif"}, optionalNames...) {
		if !handover.Owns(name) {
			t.Errorf("%q cannot be put into a results folder", name)
		}
	}
	for _, name := range []string{"notes.txt", "pack.zip", "layers/x/y.tif", "../run.json", "layers/.hidden.tif"} {
		if handover.Owns(name) {
			t.Errorf("%q would be taken for a result and removed", name)
		}
	}
}
