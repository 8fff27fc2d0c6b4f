package habitat

import (
	"testing"

	"rillwood/habitat/results"
)

// A page misses no caution in silence: what a run writes, the reader expects.
func TestReaderExpectsEveryCaution(t *testing.T) {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	run := mapped(t, inventedSurvey(t))
	read, err := results.Open(run.Folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(read.Notes) != 0 {
		t.Errorf("a fresh run is read with notes: %q", read.Notes)
	}
	want := Cautions(p)
	if len(read.Cautions) != len(want) {
		t.Fatalf("%d cautions read, want %d", len(read.Cautions), len(want))
	}
	for i, c := range want {
		if got := read.Cautions[i]; got != (results.Caution{Key: c.Key, Title: c.Title, Text: c.Text, Short: c.Short}) {
			t.Errorf("caution %d is %+v, want %+v", i, got, c)
		}
	}
}
