package score

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// Lag is pairs of records about equally far apart.
type Lag struct {
	DistanceM   float64 `json:"metres"` // mean over the pairs
	Pairs       int     `json:"pairs"`
	Gamma       float64 `json:"semivariance"` // of the ranks, in units of their variance
	Correlation float64 `json:"correlation"`  // of the ranks
}

const (
	lagCount   = 14 // lags asked for
	leastPairs = 30 // in a lag, else it joins the next (Journel and Huijbregts 1978, from memory)

	// Records compared with all others: of more, every so-maniest, and so few
	// that the pairs stay below mostPairs, but for fewAnchors.
	mostAnchors = 2000
	fewAnchors  = 300
	mostPairs   = 20_000_000
)

// correlogram is the empirical semivariogram and correlogram of mid-ranks
// (Matheron's estimator): ranks bound what one wild record can do. Lags grow
// geometrically, so that short distances are told apart; the last ends at half
// the longest side of the records' extent (Journel and Huijbregts 1978, from
// memory). Records at one place make a lag of their own.
func correlogram(points []orb.Point, values []float64) []Lag {
	n := len(points)
	z := standardRanks(values)
	if z == nil {
		return nil
	}
	low, high := points[0], points[0]
	for _, p := range points {
		for c := range p {
			low[c], high[c] = min(low[c], p[c]), max(high[c], p[c])
		}
	}
	far := max(high[0]-low[0], high[1]-low[1]) / 2
	if !(far > 0) {
		return nil
	}
	anchors := anchorsOf(n)
	first := min(max(nearestApart(points, anchors), far/200), far)
	edges := []float64{0}
	for k := range lagCount {
		edges = append(edges, first*math.Pow(far/first, float64(k)/(lagCount-1)))
	}
	edges[lagCount] = far
	isAnchor := make([]bool, n)
	for _, a := range anchors {
		isAnchor[a] = true
	}
	lags := make([]Lag, len(edges))
	for _, a := range anchors {
		for i := range points {
			if i == a || isAnchor[i] && i < a { // each pair once
				continue
			}
			d := math.Sqrt(squareApart(points[a], points[i]))
			if d > far {
				continue
			}
			k, _ := slices.BinarySearch(edges, d)
			l := &lags[k]
			l.Pairs++
			l.DistanceM += d
			l.Gamma += (z[a] - z[i]) * (z[a] - z[i]) / 2
			l.Correlation += z[a] * z[i]
		}
	}
	return joined(lags)
}

// joined puts lags of too few pairs to the next and makes means of sums.
func joined(lags []Lag) []Lag {
	var out []Lag
	var sum Lag
	for _, l := range lags {
		sum.Pairs += l.Pairs
		sum.DistanceM += l.DistanceM
		sum.Gamma += l.Gamma
		sum.Correlation += l.Correlation
		if sum.Pairs >= leastPairs {
			n := float64(sum.Pairs)
			out = append(out, Lag{sum.DistanceM / n, sum.Pairs, sum.Gamma / n, sum.Correlation / n})
			sum = Lag{}
		}
	}
	return out // pairs left over at the far end tell too little
}

// standardRanks have mean 0 and variance 1; nil when all are alike.
func standardRanks(values []float64) []float64 {
	z := midRanks(values, nil)
	n := float64(len(z))
	mean, sum := total(z)/n, 0.0
	for _, r := range z {
		sum += (r - mean) * (r - mean)
	}
	if sum < 0.25 {
		return nil
	}
	spread := math.Sqrt(sum / n)
	for i := range z {
		z[i] = (z[i] - mean) / spread
	}
	return z
}

func anchorsOf(n int) []int {
	m := min(n, mostAnchors, max(fewAnchors, mostPairs/max(n, 1)))
	out := make([]int, m)
	for i := range out {
		out[i] = i * n / m
	}
	return out
}

// nearestApart is the median distance from an anchor to the nearest record
// that is not at the same place; 0 when all are.
func nearestApart(points []orb.Point, anchors []int) float64 {
	var near []float64
	for _, a := range anchors {
		best := math.Inf(1)
		for _, p := range points {
			if d := squareApart(points[a], p); d > 0 && d < best {
				best = d
			}
		}
		if !math.IsInf(best, 0) {
			near = append(near, math.Sqrt(best))
		}
	}
	if len(near) == 0 {
		return 0
	}
	slices.Sort(near)
	return near[len(near)/2]
}

// squareApart is the square of the distance: coordinates in metres are far
// from overflow, and math.Hypot's care for it costs most of the time.
func squareApart(a, b orb.Point) float64 {
	dx, dy := a[0]-b[0], a[1]-b[1]
	return dx*dx + dy*dy
}
