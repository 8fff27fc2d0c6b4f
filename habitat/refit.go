package habitat

import (
	"context"
	"fmt"
	"math"
	"runtime"

	"gonum.org/v1/gonum/mat"
)

// RefitOptions are the choices of Refit. The zero value takes the defaults.
type RefitOptions struct {
	Profile  string  // the profile the run was made with, where it is not built in
	BlockM   float64 // side of the blocks that are fitted on and scored by turns; 0: 5,000 m
	MaxCells int     // cells looked at, at most; 0: 200,000
	Workers  int     // 0: one for each processor
}

// Refitted is what a reference layer taught.
type Refitted struct {
	Reference   string        `json:"reference"` // the layer and what of it is bottom
	Run         string        `json:"run"`
	Weights     []RefitWeight `json:"weights"`
	Cells       int           `json:"cells"` // looked at: reference and terms known
	Bottoms     int           `json:"bottom_cells"`
	Step        int           `json:"step"` // every so many columns and rows
	BlockM      float64       `json:"block_m"`
	Blocks      int           `json:"blocks"`
	CellWeight  float64       `json:"cell_weight"` // what a cell counts beside an independent one
	Effective   int           `json:"effective_cells"`
	Halves      [2]RefitHalf  `json:"halves"` // each scored by the fit on the other
	ShareBefore float64       `json:"half_odds_share_before"`
	ShareAfter  float64       `json:"half_odds_share_after"` // cells at half odds or more, of those looked at
	Notes       []string      `json:"notes"`
	Profile     *Profile      `json:"-"` // the new one, not written yet
}

// RefitWeight is one weight before and after.
type RefitWeight struct {
	Name     string  `json:"name"`
	Before   float64 `json:"before"`
	BeforeSD float64 `json:"before_sd"`
	After    float64 `json:"after"`
	SD       float64 `json:"sd"`
	Low      float64 `json:"low"` // 90 % interval
	High     float64 `json:"high"`
	Held     bool    `json:"held"` // at nought, which it may not pass
}

// RefitHalf is one half of the checkerboard, scored by the weights of before
// and by those fitted on the other half.
type RefitHalf struct {
	Cells      int     `json:"cells"`
	Bottoms    int     `json:"bottom_cells"`
	Blocks     int     `json:"blocks"`
	AUCBefore  float64 `json:"auc_before"`
	AUCFitted  float64 `json:"auc_fitted"`
	LossBefore float64 `json:"log_loss_before"` // mean logarithmic loss, nats
	LossFitted float64 `json:"log_loss_fitted"`
}

const (
	refitCells  = 200000
	refitBlockM = 5000
	leastBlocks = 4    // in each half
	leastCells  = 50   // of bottom and of other ground, in each half
	refitLevel  = 0.90 // of the intervals
)

// Refit fits the weights of bottomland again, so that the terms of a finished
// run tell the bottoms of a reference layer from the rest.
//
// Cells are those of the run where the layer is known, on an even lattice.
// The fit is the mode of the posterior, the profile's weights and their doubt
// being the prior; no weight but the intercept may rise above nought. Cells of
// one place say much the same, so each counts as 1/d of an independent one,
// where d is the mean design effect of the blocks (blockEffect). Layers of
// evidence are left out on both sides: the weights speak for the terrain.
//
// The score is honest in so far as no block is scored by a fit that saw it:
// fitted on the even blocks of a checkerboard it is scored on the odd ones, and
// the other way round. The weights that are kept come from all blocks.
// Nothing is written.
func Refit(ctx context.Context, run *Run, ref Reference, o RefitOptions) (*Refitted, error) {
	if o.BlockM == 0 {
		o.BlockM = refitBlockM
	}
	if o.MaxCells == 0 {
		o.MaxCells = refitCells
	}
	if o.Workers == 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	if !(o.BlockM >= 2*run.Frame.Cell && o.BlockM <= 1e6) {
		return nil, fmt.Errorf("block: %g m; give 2 cells of the map (%g m) up to 1,000 km", o.BlockM, 2*run.Frame.Cell)
	}
	if err := run.Need(); err != nil {
		return nil, err
	}
	base, err := run.LoadProfile(o.Profile)
	if err != nil {
		return nil, err
	}
	marks, heard, err := referenceOn(ctx, ref, run.Frame, o.Workers)
	if err != nil {
		return nil, err
	}
	defer marks.Close()
	cells, bottom, step, err := lattice(marks, o.MaxCells)
	if err != nil {
		return nil, err
	}
	terms, err := run.TermsOf(ctx, cells)
	if err != nil {
		return nil, err
	}
	d := newRefitData(run.Frame, terms, bottom, o.BlockM)
	out := &Refitted{Reference: ref.String(), Run: run.Record.Run, Step: step, BlockM: o.BlockM, Notes: heard}
	if err := d.enough(ref.Path, o.BlockM); err != nil {
		return nil, err
	}
	prior := base.weightCovariance(false)
	mean := base.Bottomland.weights(false)
	for k := range 2 {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		seen, unseen := d.half(1-k), d.half(k)
		f, err := seen.fit(mean, prior)
		if err != nil {
			return nil, err
		}
		out.Halves[k] = unseen.score(weightValues(mean), f.Beta)
	}
	f, err := d.fit(mean, prior)
	if err != nil {
		return nil, err
	}
	out.Cells, out.Bottoms, out.Blocks = len(d.x), d.bottoms(), d.blocks
	out.CellWeight, out.Effective = f.weight, int(math.Round(f.weight*float64(len(d.x))))
	out.ShareBefore, out.ShareAfter = d.halfOdds(weightValues(mean)), d.halfOdds(f.Beta)
	for i, name := range WeightNames() {
		w := RefitWeight{Name: name, Before: mean[i].Value, BeforeSD: math.Sqrt(prior.At(i, i)), After: round(f.Beta[i], 4) + 0, SD: f.SE(i)}
		w.Low, w.High = f.Interval(i, refitLevel)
		w.Held = i > 0 && f.Beta[i] == 0
		out.Weights = append(out.Weights, w)
	}
	out.note(run, base, ref)
	out.Profile, err = out.newProfile(base, f.Cov)
	return out, err
}

// weightValues are the weights alone.
func weightValues(w [numTerms]Weight) []float64 {
	out := make([]float64, numTerms)
	for i := range w {
		out[i] = w[i].Value
	}
	return out
}

// Closer tells whether the fitted chances lie closer to the layer than those of
// before (log loss) on both halves that the fit had not seen.
func (r *Refitted) Closer() bool {
	return r.Halves[0].LossFitted < r.Halves[0].LossBefore && r.Halves[1].LossFitted < r.Halves[1].LossBefore
}

// covarianceRows gives a covariance as plain lists.
func covarianceRows(c *mat.SymDense) [][]float64 {
	n := c.SymmetricDim()
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
		for k := range out[i] {
			out[i][k] = c.At(i, k)
		}
	}
	return out
}
