package score

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// SideOptions bound the side of blocks; the zero value is the usual one.
type SideOptions struct {
	FloorM      float64 // never smaller, m; 0: 500, about one walk (common practice, no source)
	LeastBlocks int     // with records that must be left; 0: 10 (common practice, no source)
}

// Side is a side for blocks, and where it comes from.
type Side struct {
	M      float64 `json:"metres"`
	Range  Figure  `json:"range"` // distance at which residuals cease to be alike, m
	Capped bool    `json:"capped"`
	Blocks int     `json:"blocks"` // with records
	How    string  `json:"how"`
	Lags   []Lag   `json:"lags"`
}

// BlockSide chooses the side of blocks for records at points (metres of one
// projected system): at least the range over which residuals are alike
// (Roberts and others 2017, Ecography 40:913–929). residuals are one for each
// point, best in units of their own error, see Residuals; rows with a NaN are
// left out.
//
// The range is that of a spherical model fitted to the semivariogram of the
// residuals' ranks, lags weighted by the root of their pairs, since pairs
// share records. It is believed only when residuals of the nearest lags are
// more alike than chance would have it (one-sided, 5 %). Never below the
// floor; and lowered where too few blocks would be left, which flatters the
// scores and is said in How.
func BlockSide(points []orb.Point, residuals []float64, o SideOptions) Side {
	sameLength(len(points), len(residuals))
	if !(o.FloorM > 0) {
		o.FloorM = 500
	}
	if o.LeastBlocks < 1 {
		o.LeastBlocks = 10
	}
	var at []orb.Point
	var values []float64
	for i, r := range residuals {
		if !math.IsNaN(r) && within(points[i]) {
			at, values = append(at, points[i]), append(values, r)
		}
	}
	s := Side{M: o.FloorM}
	if len(at) > 0 {
		s.Lags = correlogram(at, values)
	}
	s.Range = rangeOf(s.Lags)
	switch {
	case !s.Range.Known():
		s.How = fmt.Sprintf("%s, so blocks have the least side, %s", s.Range.Why, kilometres(s.M))
	case s.Range.Value <= o.FloorM:
		s.How = fmt.Sprintf("what the map misses is alike over %s, less than the least side of blocks, %s", kilometres(s.Range.Value), kilometres(s.M))
	default:
		s.M = math.Ceil(s.Range.Value/100) * 100
		s.How = fmt.Sprintf("what the map misses is alike over %s, so blocks have that side", kilometres(s.M))
	}
	s.cap(at, o)
	return s
}

// cap lowers the side until enough blocks are left.
func (s *Side) cap(at []orb.Point, o SideOptions) {
	wanted := s.M
	for {
		blocks, err := Blocks(at, s.M)
		if err != nil {
			return
		}
		list, _ := distinct(blocks)
		s.Blocks = len(list)
		if s.Blocks >= o.LeastBlocks || s.M <= o.FloorM {
			break
		}
		s.M = max(o.FloorM, math.Floor(s.M*0.9/10)*10)
	}
	if s.M < wanted {
		s.Capped = true
		s.How = fmt.Sprintf("what the map misses is alike over %s, but records lie too close together for blocks of that side; at %s %d blocks are left, neighbours still tell of each other, and scores on unseen blocks flatter",
			kilometres(s.Range.Value), kilometres(s.M), s.Blocks)
	}
}

// rangeOf fits the spherical model.
func rangeOf(lags []Lag) Figure {
	if len(lags) < 4 {
		return unknown("too few pairs of records to tell how far residuals are alike")
	}
	// The nearest three lags: is there anything to fit?
	sum, pairs := 0.0, 0.0
	for _, l := range lags[:3] {
		sum += l.Correlation * float64(l.Pairs)
		pairs += float64(l.Pairs)
	}
	if sum/math.Sqrt(pairs) < 1.645 {
		return unknown("residuals of neighbours are no more alike than chance would have it")
	}
	const tries = 80
	near, far := math.Inf(1), lags[len(lags)-1].DistanceM
	for _, l := range lags {
		if l.DistanceM > 0 {
			near = min(near, l.DistanceM)
		}
	}
	best, bestMiss := math.NaN(), math.Inf(1)
	for k := range tries {
		a := near * math.Pow(far/near, float64(k)/(tries-1))
		if miss, rises := missOf(lags, a); rises && miss < bestMiss {
			best, bestMiss = a, miss
		}
	}
	if math.IsNaN(best) {
		return unknown("residuals do not grow less alike with distance")
	}
	f := known(best)
	if best >= far*0.999 {
		f.Why = "at least: residuals are still alike at the longest distance compared"
	}
	return f
}

// missOf fits nugget and sill, neither below 0, for a range a by weighted
// least squares, and tells what is left.
func missOf(lags []Lag, a float64) (miss float64, rises bool) {
	var w, mx, my, xx, xy float64
	for _, l := range lags {
		k := math.Sqrt(float64(l.Pairs))
		w += k
		mx += k * spherical(l.DistanceM/a)
		my += k * l.Gamma
	}
	mx, my = mx/w, my/w
	for _, l := range lags {
		k, x := math.Sqrt(float64(l.Pairs)), spherical(l.DistanceM/a)
		xx += k * (x - mx) * (x - mx)
		xy += k * (x - mx) * (l.Gamma - my)
	}
	if !(xx > 0 && xy > 0) {
		return 0, false
	}
	sill := xy / xx
	nugget := my - sill*mx
	if nugget < 0 {
		nugget = 0
		var sxy, sxx float64
		for _, l := range lags {
			k, x := math.Sqrt(float64(l.Pairs)), spherical(l.DistanceM/a)
			sxy += k * x * l.Gamma
			sxx += k * x * x
		}
		sill = sxy / sxx
	}
	for _, l := range lags {
		d := l.Gamma - nugget - sill*spherical(l.DistanceM/a)
		miss += math.Sqrt(float64(l.Pairs)) * d * d
	}
	return miss, true
}

func spherical(h float64) float64 {
	if h >= 1 {
		return 1
	}
	return 1.5*h - 0.5*h*h*h
}

// Residuals are (found − n·p) / √(n·p·(1−p)) of rows of found of n trials with
// chance p, Pearson's; NaN where there is no chance or no trial. Chances are
// held at least 0.001 from 0 and 1.
func Residuals(p, n, found []float64) []float64 {
	sameLength(len(p), len(n), len(found))
	out := make([]float64, len(p))
	for i, q := range p {
		if !(q >= 0 && q <= 1 && n[i] > 0) {
			out[i] = math.NaN()
			continue
		}
		q = min(max(q, 0.001), 0.999)
		out[i] = (found[i] - n[i]*q) / math.Sqrt(n[i]*q*(1-q))
	}
	return out
}

func within(p orb.Point) bool { return math.Abs(p[0]) < 1e12 && math.Abs(p[1]) < 1e12 }

func kilometres(m float64) string {
	if m < 1000 {
		return fmt.Sprintf("%.0f m", m)
	}
	return fmt.Sprintf("%.1f km", m/1000)
}
