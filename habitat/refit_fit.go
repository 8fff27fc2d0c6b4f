package habitat

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"rillwood/habitat/learn"
	"rillwood/raster"
)

// refitData is the cells of a fit: terms, whether bottom, and the block each
// lies in.
type refitData struct {
	x      [][]float64
	y      []float64 // 1 bottom, 0 not
	block  []int     // 0 … blocks−1
	parity []uint8   // colour of the block on the checkerboard
	blocks int
}

// newRefitData takes the cells whose terms are known. Blocks are counted from
// the frame's north-west corner.
func newRefitData(f raster.Frame, terms []Terms, bottom []bool, blockM float64) *refitData {
	d := &refitData{}
	side := blockM / f.Cell
	wide := int(float64(f.W)/side) + 1
	number := map[int]int{}
	for i := range terms {
		t := &terms[i]
		if !t.OK {
			continue
		}
		bx, by := int(float64(t.Cell%f.W)/side), int(float64(t.Cell/f.W)/side)
		b, ok := number[by*wide+bx]
		if !ok {
			b = len(number)
			number[by*wide+bx] = b
		}
		v := t.vector()
		d.add(v[:], bottom[i], b, uint8((bx+by)%2))
	}
	d.blocks = len(number)
	return d
}

func (d *refitData) add(x []float64, bottom bool, block int, parity uint8) {
	y := 0.0
	if bottom {
		y = 1
	}
	d.x, d.y, d.block, d.parity = append(d.x, x), append(d.y, y), append(d.block, block), append(d.parity, parity)
}

// half is the cells of one colour of the checkerboard.
func (d *refitData) half(parity int) *refitData {
	h := &refitData{}
	number := map[int]int{}
	for i := range d.x {
		if int(d.parity[i]) != parity {
			continue
		}
		b, ok := number[d.block[i]]
		if !ok {
			b = len(number)
			number[d.block[i]] = b
		}
		h.add(d.x[i], d.y[i] == 1, b, d.parity[i])
	}
	h.blocks = len(number)
	return h
}

func (d *refitData) bottoms() int {
	n := 0
	for _, y := range d.y {
		n += int(y)
	}
	return n
}

// enough refuses what no fit could be scored on.
func (d *refitData) enough(path string, blockM float64) error {
	if len(d.x) == 0 {
		return fmt.Errorf("reference layer %q: no cell of the run lies where the layer is known; give a layer of the run's area", path)
	}
	for k := range 2 {
		h := d.half(k)
		if n := h.bottoms(); n < leastCells || len(h.x)-n < leastCells {
			return fmt.Errorf("reference layer %q: one half of the %g km blocks holds %d cells of bottom and %d of other ground, %d of each are needed; give a layer that covers more, or smaller blocks with --block", path, blockM/1000, n, len(h.x)-n, leastCells)
		}
		if h.blocks < leastBlocks {
			return fmt.Errorf("reference layer %q: one half of the checkerboard has %d blocks of %g km, %d are needed; give smaller blocks with --block, or a layer that covers more", path, h.blocks, blockM/1000, leastBlocks)
		}
	}
	return nil
}

// refitFit is a fit and what a cell counted in it.
type refitFit struct {
	learn.Fit
	weight float64
}

// fit finds the weights: once as if every cell were independent, which shows
// how much the cells of a block say the same, then with cells weighed by that.
func (d *refitData) fit(mean [numTerms]Weight, prior *mat.SymDense) (refitFit, error) {
	p := learn.Prior{Mean: weightValues(mean), Cov: prior, Sign: []int8{0, -1, -1, -1, -1}}
	trials := make([]float64, len(d.x))
	for i := range trials {
		trials[i] = 1
	}
	f, err := learn.Logistic(d.x, trials, d.y, nil, p)
	if err != nil {
		return refitFit{}, fmt.Errorf("fitting the weights: %w", err)
	}
	w := 1 / d.blockEffect(f.Beta, f.Cov)
	hits := make([]float64, len(d.x))
	for i := range trials {
		trials[i], hits[i] = w, w*d.y[i]
	}
	if f, err = learn.Logistic(d.x, trials, hits, nil, p); err != nil {
		return refitFit{}, fmt.Errorf("fitting the weights: %w", err)
	}
	return refitFit{f, w}, nil
}

// blockEffect is the mean design effect of the blocks, at least 1: the trace of
// H⁻¹J over the number of weights, H⁻¹ the covariance as if all cells were
// independent, J the scatter of the blocks' scores (first-order correction of
// Rao and Scott 1984, Ann. Statist. 12:46–60, from memory; as a weight on the
// likelihood: Pauli, Racugno and Ventura 2011, Statist. Sinica 21:149–164,
// from memory).
func (d *refitData) blockEffect(beta []float64, inverse *mat.SymDense) float64 {
	scores := mat.NewDense(d.blocks, numTerms, nil)
	for i, x := range d.x {
		r := d.y[i] - Logistic(sumProduct(beta, x))
		row := scores.RawRowView(d.block[i])
		for j, v := range x {
			row[j] += r * v
		}
	}
	var j, m mat.SymDense
	stat.CovarianceMatrix(&m, scores, nil) // about the mean, over blocks − 1
	j.ScaleSym(float64(d.blocks), &m)
	var product mat.Dense
	product.Mul(inverse, &j)
	return max(1, mat.Trace(&product)/numTerms)
}

func sumProduct(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

// score compares two sets of weights on these cells.
func (d *refitData) score(before, fitted []float64) RefitHalf {
	h := RefitHalf{Cells: len(d.x), Bottoms: d.bottoms(), Blocks: d.blocks}
	h.AUCBefore, h.LossBefore = d.judged(before)
	h.AUCFitted, h.LossFitted = d.judged(fitted)
	return h
}

// judged is the area under the ROC curve of the log-odds, and the mean
// logarithmic loss in nats.
func (d *refitData) judged(beta []float64) (auc, loss float64) {
	type item struct {
		logit float64
		is    bool
	}
	items := make([]item, len(d.x))
	for i, x := range d.x {
		t := sumProduct(beta, x)
		items[i] = item{t, d.y[i] == 1}
		if d.y[i] == 1 {
			t = -t
		}
		loss += max(t, 0) + math.Log1p(math.Exp(-math.Abs(t)))
	}
	slices.SortFunc(items, func(a, b item) int {
		switch {
		case a.logit < b.logit:
			return -1
		case a.logit > b.logit:
			return 1
		}
		return 0
	})
	logits, is := make([]float64, len(items)), make([]bool, len(items))
	for i, it := range items {
		logits[i], is[i] = it.logit, it.is
	}
	tpr, fpr, _ := stat.ROC(nil, logits, is, nil)
	return integrate.Trapezoidal(fpr, tpr), loss / float64(len(d.x))
}

// halfOdds is the share of the cells that weights give half odds or more.
func (d *refitData) halfOdds(beta []float64) float64 {
	n := 0
	for _, x := range d.x {
		if sumProduct(beta, x) >= 0 {
			n++
		}
	}
	return float64(n) / float64(len(d.x))
}
