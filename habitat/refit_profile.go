package habitat

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// String names the layer and what of it is bottom, without folders.
func (ref Reference) String() string {
	name := fmt.Sprintf("%q", filepath.Base(ref.Path))
	switch {
	case ref.Inside:
		return name + ", inside its polygons"
	case ref.Field != "":
		return fmt.Sprintf("%s, %s %s", name, oneLine(ref.Field), someWords(ref.Values))
	}
	text := name + ", codes " + someWords(ref.Values)
	if len(ref.Known) > 0 {
		text += " of " + someWords(ref.Known)
	}
	return text
}

const fittedWords = "fitted to "

// newProfile is the profile with the fitted weights, their covariance and a
// line of provenance. The old one is left as it is.
func (r *Refitted) newProfile(base *Profile, cov *mat.SymDense) (*Profile, error) {
	data, err := base.Encode()
	if err != nil {
		return nil, err
	}
	p, err := ParseProfile("profile "+base.Name, data)
	if err != nil {
		return nil, err
	}
	b := &p.Bottomland
	for i, w := range []*Weight{&b.Intercept, &b.WeightR, &b.WeightSmall, &b.WeightSlope, &b.WeightDistance} {
		f := r.Weights[i]
		old, _, _ := strings.Cut(w.Source, fittedWords)
		w.Value, w.SD = f.After, max(round(f.SD, 6), 1e-3)
		w.Source = strings.TrimSuffix(old, "; ")
		if w.Source != "" {
			w.Source += "; "
		}
		w.Source += fmt.Sprintf("%s%s: 90 %% interval %.3f to %.3f; before %g (sd %g)", fittedWords, r.Reference, f.Low, f.High, f.Before, round(f.BeforeSD, 4))
	}
	b.follow(base.Bottomland.weights(false), false)
	records := r.Effective
	if base.Posterior != nil {
		records += base.Posterior.Records
	}
	p.Posterior = &Posterior{Weights: WeightNames(), Covariance: covarianceRows(cov), Records: records,
		Source: fmt.Sprintf("%d cells in %d blocks of %g km, counted as %d independent ones; Laplace's approximation", r.Cells, r.Blocks, r.BlockM/1000, r.Effective)}
	if base.Posterior != nil { // the field records it has learned from stay learned
		p.Posterior.Until, p.Posterior.Seen = base.Posterior.Until, base.Posterior.Seen
	}
	p.Name = refitName(base.Name)
	p.Provenance = append(p.Provenance, fmt.Sprintf("%q: bottomland weights %s%s, on run %s: %d cells, %d of bottom; on blocks not fitted on AUC %.4f and %.4f, before %.4f and %.4f, log loss %.4f and %.4f, before %.4f and %.4f",
		base.Name, fittedWords, r.Reference, r.Run, r.Cells, r.Bottoms, r.Halves[0].AUCFitted, r.Halves[1].AUCFitted, r.Halves[0].AUCBefore, r.Halves[1].AUCBefore,
		r.Halves[0].LossFitted, r.Halves[1].LossFitted, r.Halves[0].LossBefore, r.Halves[1].LossBefore))
	if err := p.Validate(); err != nil {
		return nil, fmt.Errorf("the fitted profile: %w", err)
	}
	return p, nil
}

// refitName marks a profile's name once.
func refitName(name string) string {
	const mark = "-refitted"
	name = strings.TrimSuffix(name, mark)
	return strings.TrimRight(name[:min(len(name), 40-len(mark))], "-") + mark
}

// note adds what a person should know before trusting the new weights.
func (r *Refitted) note(run *Run, base *Profile, ref Reference) {
	say := func(format string, a ...any) { r.Notes = append(r.Notes, fmt.Sprintf(format, a...)) }
	if !r.Closer() {
		say("on blocks it had not seen the fit is no closer to the layer than the weights before: keep the old profile unless you know why")
	}
	for k, h := range r.Halves {
		// What is less than rounding says nothing.
		if h.AUCFitted < h.AUCBefore-0.00005 {
			say("half %d: the fit puts unseen ground in a worse order than before (AUC %.4f, before %.4f)", k+1, h.AUCFitted, h.AUCBefore)
		}
	}
	share := float64(r.Bottoms) / float64(r.Cells)
	if r.ShareAfter < r.ShareBefore/2 || r.ShareAfter > 2*r.ShareBefore {
		say("the map will show %.1f %% of this ground at half odds or more, before %.1f %%; the layer calls %.1f %% bottom: shortlist.threshold may want another look", 100*r.ShareAfter, 100*r.ShareBefore, 100*share)
	}
	for _, w := range r.Weights {
		if w.Held {
			say("%s is held at 0: the layer would have higher, steeper or farther ground count as more of a bottom", w.Name)
		}
	}
	if base.Bottomland.Flatness.given() {
		say("the fit knows nothing of valley flatness: intercept and slope weight for surveys that ask for it (bottomland.flatness) moved as far as those fitted")
	}
	if len(run.Record.Survey.Evidence.Layers) > 0 {
		say("layers of evidence were left out of the fit and the scores; a layer that is evidence should not be the reference too")
	}
	for _, line := range base.Provenance {
		if strings.Contains(line, ref.String()) {
			say("the profile was fitted to this layer before: it now counts twice")
			break
		}
	}
	if math.Abs(r.Weights[0].After-r.Weights[0].Before) > 2 {
		say("the intercept moved by more than 2: the layer draws bottoms much narrower or wider than the profile did")
	}
}
