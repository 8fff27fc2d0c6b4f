package score

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// All pairs by rising distance, cut where the lags end: each pair counted once.
func TestLagsAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 62))
	points := scatter(r, 90, 9000)
	z := field(t, r, points, 2500)
	lags := correlogram(points, z)
	ranks := midRanks(z, nil)
	mean := total(ranks) / float64(len(ranks))
	spread := 0.0
	for _, v := range ranks {
		spread += (v - mean) * (v - mean) / float64(len(ranks))
	}
	type pair struct{ d, gamma, corr float64 }
	var pairs []pair
	for i := range points {
		for k := range i {
			d := math.Hypot(points[i][0]-points[k][0], points[i][1]-points[k][1])
			g := (ranks[i] - ranks[k]) * (ranks[i] - ranks[k]) / 2 / spread
			pairs = append(pairs, pair{d, g, (ranks[i] - mean) * (ranks[k] - mean) / spread})
		}
	}
	slices.SortFunc(pairs, func(a, b pair) int {
		if a.d < b.d {
			return -1
		}
		return 1
	})
	if len(lags) < 8 {
		t.Fatalf("%d lags", len(lags))
	}
	for k, l := range lags {
		var d, g, c float64
		for _, p := range pairs[:l.Pairs] {
			d, g, c = d+p.d, g+p.gamma, c+p.corr
		}
		pairs = pairs[l.Pairs:]
		n := float64(l.Pairs)
		near(t, "distance", l.DistanceM, d/n, 1e-6)
		near(t, "semivariance", l.Gamma, g/n, 1e-9)
		near(t, "correlation", l.Correlation, c/n, 1e-9)
		if l.Pairs < 30 || k > 0 && l.DistanceM <= lags[k-1].DistanceM {
			t.Errorf("lag %d: %+v", k, l)
		}
	}
}
