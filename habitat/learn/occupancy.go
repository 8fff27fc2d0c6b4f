package learn

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Detection is what places visited more than once tell: how often the target
// is there, and how often a visit sees it when it is.
type Detection struct {
	Psi, P         Interval // mean and interval over a grid of both, under the prior
	PsiMode, PMode float64  // best values; under Beta(1, 1) those of likelihood
	PBeta          Beta     // of P's mean and variance
	// Cov is that of (logit ψ, logit p) at the mode; nil where the mode lies at
	// an edge, as with no find at all.
	Cov    *mat.SymDense
	LogLik float64 // at the mode
	Naive  float64 // share of places with a find
	Places int     // with a visit at least
	Told   bool    // some place was visited twice: without, P is the prior's word
}

// history is places alike: visits, and visits with a find.
type history struct{ visits, finds, places float64 }

// Occupancy fits ψ, the chance that a place holds the target, and p, the
// chance that one visit sees it there (MacKenzie and others 2002, Ecology
// 83:2248–2255). hist has a row for each place, 1 found, 0 not, -1 not
// visited; only visits in season belong in it. Priors Beta(1, 1) give the
// published estimates; A and B must be 1 at least, so that there is a mode.
func Occupancy(hist [][]int8, psi, p Beta, level float64) (Detection, error) {
	if !(level > 0 && level < 1) {
		return Detection{}, fmt.Errorf("the level of intervals is %g; give a chance between 0 and 1, such as 0.9", level)
	}
	for _, b := range []Beta{psi, p} {
		if !(b.A >= 1 && b.B >= 1 && b.A <= 1e9 && b.B <= 1e9) {
			return Detection{}, fmt.Errorf("the prior Beta(%g, %g) needs both at least 1", b.A, b.B)
		}
	}
	kinds, d, err := histories(hist)
	if err != nil {
		return Detection{}, err
	}
	d.PsiMode, d.PMode = occupancyMode(kinds, psi, p)
	d.LogLik = occupancyLog(kinds, d.PsiMode, d.PMode)
	d.Cov = occupancyCov(kinds, psi, p, d.PsiMode, d.PMode)
	occupancyGrid(&d, kinds, psi, p, level)
	return d, nil
}

// DetectionFrom is Occupancy with ψ flat and p of Beta(2, 2), which leans
// away from never and always: common practice, no source.
//
// Use it so: rows of one place visited v times in season enter a rate as
// Effort(v)/v of their trees, since to look again at a tree tells less than
// to look at another.
func DetectionFrom(hist [][]int8) (Detection, error) {
	return Occupancy(hist, Beta{1, 1}, Beta{2, 2}, 0.9)
}

// Seen is the chance that v visits see at least once what is there.
func (d Detection) Seen(visits int) float64 {
	return -math.Expm1(float64(visits) * math.Log1p(-d.PMode))
}

// Effort is how many single visits v visits to the same trees are worth,
// (1 − (1−p)^v)/p: 1 for one, never more than 1/p. A rate per single visit
// counts x of n·Effort(v) trees where n trees were looked at v times.
func (d Detection) Effort(visits int) float64 {
	if d.PMode < 1e-9 {
		return float64(visits)
	}
	return d.Seen(visits) / d.PMode
}

// Missed is the chance that a place held to have the target with the chance
// psi has it though v visits saw nothing.
func (d Detection) Missed(psi float64, visits int) float64 {
	unseen := psi * (1 - d.Seen(visits))
	return unseen / (1 - psi + unseen)
}

func histories(hist [][]int8) ([]history, Detection, error) {
	type key struct{ visits, finds int }
	index := map[key]int{}
	var kinds []history
	var d Detection
	for i, row := range hist {
		var k key
		for j, v := range row {
			switch v {
			case 0, 1:
				k.visits, k.finds = k.visits+1, k.finds+int(v)
			case -1:
			default:
				return nil, d, fmt.Errorf("place %d, visit %d: %d; give 1 found, 0 not found, -1 not visited", i+1, j+1, v)
			}
		}
		if k.visits == 0 {
			continue
		}
		d.Places++
		d.Told = d.Told || k.visits > 1
		if k.finds > 0 {
			d.Naive++
		}
		at, known := index[k]
		if !known {
			at = len(kinds)
			index[k] = at
			kinds = append(kinds, history{visits: float64(k.visits), finds: float64(k.finds)})
		}
		kinds[at].places++
	}
	if d.Places == 0 {
		return nil, d, errors.New("no place was visited; give one visit at least")
	}
	d.Naive /= float64(d.Places)
	return kinds, d, nil
}

func occupancyLog(kinds []history, psi, p float64) float64 {
	var sum float64
	for _, k := range kinds {
		there := psi * math.Pow(p, k.finds) * math.Pow(1-p, k.visits-k.finds)
		if k.finds == 0 {
			there += 1 - psi
		}
		sum += k.places * math.Log(there)
	}
	return sum
}
