package score

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// Weighted is values and how much each counts; nil weights are all 1.
type Weighted struct {
	Value, Weight []float64
}

// BoyceOptions are of the sliding window; the zero value is the usual one.
type BoyceOptions struct {
	Width float64 // of the window in units of the score; 0: a tenth of the range
	Steps int     // from the lowest window to the highest; 0: 100
	// Range of scores the windows cover; both 0: that of presences and background.
	Low, High float64
}

// BoyceIndex is the continuous Boyce index: whether places with finds are
// the more frequent, compared with the map, the higher the map scores.
type BoyceIndex struct {
	// Index is Spearman's correlation of P/E with the windows' middles, −1 to
	// 1, over all windows that hold background. This is the one to quote.
	Index Figure `json:"index"`
	// Distinct leaves out windows whose P/E is that of the one before: level
	// stretches, such as many windows without a find, no longer count.
	Distinct Figure   `json:"index_of_distinct_ratios"`
	Windows  []Window `json:"-"` // with background, from low to high
}

// Window is one place of the sliding window, both ends included.
type Window struct {
	Low, High            float64
	Presence, Background float64 // shares of all presences (P) and of all background (E)
	Ratio                float64 // P/E
}

// leastValues is of how many different scores of the background a trend can be
// told; a map of two classes would always score 1 or −1 (common practice, no
// source).
const leastValues = 5

// boyceGroups is how many groups the jackknife leaves out in turn.
const boyceGroups = 100

// Boyce works the index out (Boyce and others 2002, Ecological Modelling
// 157:281–300; Hirzel and others 2006, Ecological Modelling 199:142–152).
// presence is scores where finds were, weighted by finds; background is scores
// of the map as a whole or of all places looked at. NaN scores are left out.
//
// The standard error leaves out each presence in turn, or each of 100 groups
// of them (jackknife, background taken as known): windows overlap, so that
// Spearman's own would be far too small. It needs 5 presences.
//
// There is no index without presences, without background, or of a background
// of fewer than 5 different scores.
func Boyce(presence, background Weighted, o BoyceOptions) BoyceIndex {
	p, e := presence.sorted(), background.sorted()
	none := func(why string) BoyceIndex {
		return BoyceIndex{Index: unknown("%s", why), Distinct: unknown("%s", why)}
	}
	switch {
	case len(p.Value) == 0:
		return none("no place with a find")
	case len(e.Value) == 0:
		return none("no background")
	}
	if n := differentValues(e.Value); n > 1 && n < leastValues {
		return none(fmt.Sprintf("the map has only %d different scores, too few for a trend", n))
	}
	low, high := o.Low, o.High
	if low == 0 && high == 0 {
		low = min(p.Value[0], e.Value[0])
		high = max(p.Value[len(p.Value)-1], e.Value[len(e.Value)-1])
	}
	switch {
	case math.IsInf(high-low, 0):
		return none("scores are not finite")
	case !(high > low):
		return none("all scores are alike")
	}
	spans := windows(low, high, o)
	out := BoyceIndex{}
	sumP, sumE := p.cumulate(), e.cumulate()
	allP, allE := sumP[len(sumP)-1], sumE[len(sumE)-1]
	var mids []float64
	for _, w := range spans {
		here := between(e.Value, sumE, w)
		if here == 0 {
			continue
		}
		win := Window{Low: w[0], High: w[1], Presence: between(p.Value, sumP, w) / allP, Background: here / allE}
		win.Ratio = steady(win.Presence / win.Background)
		out.Windows = append(out.Windows, win)
		mids = append(mids, (w[0]+w[1])/2)
	}
	ratios := make([]float64, len(out.Windows))
	for i, w := range out.Windows {
		ratios[i] = w.Ratio
	}
	out.Index, out.Distinct = boyceOf(ratios, mids)
	if out.Index.Known() {
		out.jackknife(p, allP, mids)
	}
	return out
}

func windows(low, high float64, o BoyceOptions) [][2]float64 {
	width, steps := o.Width, o.Steps
	if !(width > 0 && width < high-low) {
		width = (high - low) / 10
	}
	if steps < 1 {
		steps = 100
	}
	// Many maps score in steps; a step that lies on a window's end must be in
	// it whatever the rounding.
	slack := 1e-9 * (high - low)
	spans := make([][2]float64, steps+1)
	for k := range spans {
		from := low + (high-low-width)*float64(k)/float64(steps)
		spans[k] = [2]float64{from - slack, from + width + slack}
	}
	return spans
}

// boyceOf is both variants of the index.
func boyceOf(ratios, mids []float64) (all, distinct Figure) {
	all = Spearman(ratios, mids, nil)
	var r, m []float64
	for i := range ratios {
		if i == 0 || ratios[i] != ratios[i-1] {
			r, m = append(r, ratios[i]), append(m, mids[i])
		}
	}
	return all, Spearman(r, m, nil)
}

// jackknife adds standard errors.
func (b *BoyceIndex) jackknife(p Weighted, allP float64, mids []float64) {
	groups := min(len(p.Value), boyceGroups)
	if groups < 5 {
		return
	}
	// Groups take every 100th presence by rising score, so that each is like
	// the whole.
	lost := make([][]float64, groups)
	gone := make([]float64, groups)
	for g := range lost {
		lost[g] = make([]float64, len(b.Windows))
	}
	for i, v := range p.Value {
		g := i % groups
		gone[g] += weight(p.Weight, i)
		for k, w := range b.Windows {
			if v >= w.Low && v <= w.High {
				lost[g][k] += weight(p.Weight, i)
			}
		}
	}
	var all, distinct []float64
	ratios := make([]float64, len(b.Windows))
	for g := range lost {
		for k, w := range b.Windows {
			ratios[k] = steady(max(0, w.Presence*allP-lost[g][k]) / (allP - gone[g]) / w.Background)
		}
		a, d := boyceOf(ratios, mids)
		all, distinct = append(all, a.Value), append(distinct, d.Value)
	}
	b.Index.SE, b.Distinct.SE = jackknifeError(all), jackknifeError(distinct)
}

func jackknifeError(v []float64) float64 {
	n := float64(len(v))
	mean, sum := total(v)/n, 0.0
	for _, x := range v {
		sum += (x - mean) * (x - mean)
	}
	return math.Sqrt((n - 1) / n * sum)
}

// steady drops the last digits, which differ between windows that hold the
// same places.
func steady(v float64) float64 {
	r, _ := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 11, 64), 64)
	return r
}

// sorted is the values by rising score, without NaN and weightless ones.
func (w Weighted) sorted() Weighted {
	if w.Weight != nil {
		sameLength(len(w.Value), len(w.Weight))
	}
	var out Weighted
	for _, i := range order(w.Value) {
		if !math.IsNaN(w.Value[i]) && weight(w.Weight, i) > 0 {
			out.Value = append(out.Value, w.Value[i])
			out.Weight = append(out.Weight, weight(w.Weight, i))
		}
	}
	return out
}

// cumulate is the weight of the first 0, 1, … values.
func (w Weighted) cumulate() []float64 {
	sum := make([]float64, len(w.Value)+1)
	for i := range w.Value {
		sum[i+1] = sum[i] + weight(w.Weight, i)
	}
	return sum
}

// differentValues counts those of sorted values.
func differentValues(v []float64) int {
	n := 0
	for i := range v {
		if i == 0 || v[i] != v[i-1] {
			n++
		}
	}
	return n
}

func between(value, sum []float64, span [2]float64) float64 {
	from, _ := slices.BinarySearch(value, span[0])
	to, _ := slices.BinarySearch(value, math.Nextafter(span[1], math.Inf(1)))
	return sum[to] - sum[from]
}
