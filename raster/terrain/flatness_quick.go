package terrain

import "math"

// quickScale is a valleyScale with what its powers take kept in a table; it
// gives the same index to 1e-6.
type quickScale struct {
	valleyScale
	least float64 // product of flatness and lowness below which the step changes nothing
	table []cubic // weight of the step by its flatness
}

// cubic is a polynomial of third degree, from the constant on.
type cubic [4]float64

const (
	quickPieces = 1024
	// quickNothing is a weight too small to show in the index.
	quickNothing = 1e-9
)

// newQuickScale tables the weight over flatness 0 … 1, by pieces that share
// value and derivative where they meet (Hermite).
func newQuickScale(s valleyScale) quickScale {
	q := quickScale{valleyScale: s, table: make([]cubic, quickPieces)}
	const step = 1.0 / quickPieces
	slope := func(vf float64) float64 { // derivative, times the width of a piece
		if vf == 0 {
			return 0
		}
		u := math.Pow(vf/0.4, s.power)
		return step * s.power * u / (vf * (1 + u) * (1 + u))
	}
	for i := range q.table {
		a, b := float64(i)*step, float64(i+1)*step
		pa, pb, da, db := s.weight(a), s.weight(b), slope(a), slope(b)
		q.table[i] = cubic{pa, da, 3*(pb-pa) - 2*da - db, 2*(pa-pb) + da + db}
	}
	vf := 0.4 * math.Pow(quickNothing, 1/s.power)
	q.least = 0.3 * math.Pow(vf/(1-vf), 0.25) // valleyFlat turned round
	return q
}

// blend is valleyScale.blend for the product of flatness and lowness.
func (q *quickScale) blend(product, before float64) float64 {
	if product < q.least {
		return before
	}
	vf := valleyFlat(product)
	at := vf * quickPieces
	i := min(int(at), quickPieces-1)
	t, c := at-float64(i), &q.table[i]
	w := c[0] + t*(c[1]+t*(c[2]+t*c[3]))
	return w*(float64(q.step-1)+vf) + (1-w)*before
}

// add is valleySteps.add for the steps from the third on: the flatness so far
// and the index so far, each with this step.
func (q *quickScale) add(flat, index, slope float64, lower *sampler, x int) (float64, float64) {
	flat *= flatGround(slope, q.threshold)
	if flat < q.least {
		return flat, index
	}
	return flat, q.blend(flat*lowGround(lower.at(x)), index)
}

// lowTable is lowGround by count of lower neighbours in a whole circle.
type lowTable struct {
	half []int
	all  int
	low  [128]float64
}

var lowFirst, lowLater = newLowTable(firstHalf), newLowTable(laterHalf)

func newLowTable(half []int) *lowTable {
	l := &lowTable{half: half, all: circleCells(half)}
	for i := range l.all + 1 {
		l.low[i] = lowGround(float64(shareOf(i, l.all)))
	}
	return l
}

// of is lowGround for lower neighbours among all.
func (l *lowTable) of(lower, all int) float64 {
	if all == l.all {
		return l.low[lower&127]
	}
	return lowGround(float64(shareOf(lower, all)))
}
