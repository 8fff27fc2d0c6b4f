package habitat

import (
	"math"
	"path/filepath"
	"testing"

	"rillwood/internal/shareddata"
)

// neversinkReference is the surficial geology of the Neversink basin, its
// alluvium as bottoms. Source: Corson-Dosch and others 2022, USGS SIR 2021-5112.
func neversinkReference(t *testing.T) Reference {
	t.Helper()
	return Reference{Path: shareddata.Path(t, "realdata", "02-neversink-ny", "L1_K_Zone_50mGrid.tif"),
		Values: []string{"17", "26", "28", "31", "32", "35"}, Known: []string{"11-39"}}
}

// refitLayers are what a run must write to be learned from.
var refitLayers = []string{"bottomland", "relative-height", "brook-height", "slope", "stream-distance"}

func refitOf(t *testing.T, s *Survey, ref Reference) (*Run, *Refitted) {
	t.Helper()
	s.Output.Layers, s.Output.Preview, s.Shortlist.Draws = refitLayers, false, 0
	run, err := OpenRun(mapped(t, s).Folder)
	if err != nil {
		t.Fatal(err)
	}
	o := RefitOptions{}
	if isPath(s.Profile) {
		o.Profile = s.Profile
	}
	r, err := Refit(t.Context(), run, ref, o)
	if err != nil {
		t.Fatal(err)
	}
	return run, r
}

// The refit on mapped alluvium brings the chances closer to the layer on blocks
// it has not seen, both ways, with mapped streams and with drawn ones. The order
// of the ground (AUC) is left about where it was: the built-in weights were
// chosen by the AUC on this very ground, so the comparison favours them.
func TestRealNeversinkRefit(t *testing.T) {
	ref := neversinkReference(t)
	for _, name := range []string{"neversink-mapped", "neversink-derived"} {
		s := realSurvey(t, name)
		run, r := refitOf(t, s, ref)
		t.Logf("%s:%s", name, r.Text())
		for k, h := range r.Halves {
			if !(h.LossFitted < 0.95*h.LossBefore) {
				t.Errorf("%s, half %d: log loss %.4f, before %.4f: want a twentieth less", name, k+1, h.LossFitted, h.LossBefore)
			}
			if !(h.AUCFitted > h.AUCBefore-0.002) {
				t.Errorf("%s, half %d: AUC %.4f, before %.4f: more than 0.002 is lost", name, k+1, h.AUCFitted, h.AUCBefore)
			}
		}
		if !r.Closer() || r.Cells < 180000 || r.Bottoms < 9000 || r.Effective < 100 || r.Effective > r.Cells/4 {
			t.Errorf("%s: %d cells, %d bottoms, counted as %d", name, r.Cells, r.Bottoms, r.Effective)
		}
		if name != "neversink-mapped" {
			continue
		}
		s.Profile = filepath.Join(t.TempDir(), "fitted.yaml")
		if err := r.Profile.Write(s.Profile); err != nil {
			t.Fatal(err)
		}
		again, err := OpenRun(mapped(t, s).Folder)
		if err != nil {
			t.Fatal(err)
		}
		sameTerms(t, run, again)
	}
}

// From weights that were not chosen here, but lie within what the profile
// holds possible, the fit finds a better order on unseen blocks too. Those
// weights are a guess made before looking at its score. With streams drawn from
// the elevation the same guess gains on one half (0.9677 to 0.9687) and loses on
// the other (0.9664 to 0.9659), so no claim is made for those.
func TestRealNeversinkRefitFromAfar(t *testing.T) {
	ref := neversinkReference(t)
	s := realSurvey(t, "neversink-mapped")
	p, err := LoadProfile(s.Profile)
	if err != nil {
		t.Fatal(err)
	}
	b := &p.Bottomland
	p.Posterior = nil
	b.WeightR.Value, b.WeightSmall.Value, b.WeightSlope.Value, b.WeightDistance.Value = -1, -0.5, -0.3, -0.5
	s.Profile = filepath.Join(t.TempDir(), "afar.yaml")
	if err := p.Write(s.Profile); err != nil {
		t.Fatal(err)
	}
	_, r := refitOf(t, s, ref)
	t.Log(r.Text())
	for k, h := range r.Halves {
		if !(h.AUCFitted > h.AUCBefore) || !(h.LossFitted < h.LossBefore) {
			t.Errorf("half %d: AUC %.4f, before %.4f; log loss %.4f, before %.4f: no better", k+1, h.AUCFitted, h.AUCBefore, h.LossFitted, h.LossBefore)
		}
	}
}

// sameTerms holds the log-odds worked out from the layers against the
// bottomland the run wrote, and the terms of two runs of one ground.
func sameTerms(t *testing.T, a, b *Run) {
	t.Helper()
	var cells []int
	for c := 0; c < a.Frame.Cells(); c += 97 {
		cells = append(cells, c)
	}
	first, err := a.TermsOf(t.Context(), cells)
	if err != nil {
		t.Fatal(err)
	}
	second, err := b.TermsOf(t.Context(), cells)
	if err != nil {
		t.Fatal(err)
	}
	known := 0
	for i := range first {
		p, q := first[i], second[i]
		if !p.OK {
			continue
		}
		known++
		if p.vector() != q.vector() {
			t.Fatalf("cell %d: the terms hang on the weights: %v, %v", p.Cell, p.vector(), q.vector())
		}
		for _, x := range []Terms{p, q} {
			// Ratios are stored in steps of 1/256 from 1/4 on, slopes in steps of 1/64.
			if math.Abs(Logistic(x.Logit)-x.B) > 0.01 {
				t.Errorf("cell %d: B %.5f, from its terms %.5f", x.Cell, x.B, Logistic(x.Logit))
			}
		}
	}
	if known < len(cells)/4 {
		t.Errorf("terms known at %d of %d cells", known, len(cells))
	}
}
