// Package walking tells how long a walk takes over ground and along paths, and
// where it leads: the way of least time on a grid of heights with a network of
// paths laid over it. Water, closed ground and ground to keep out of bar the
// way. It knows no files.
package walking

import "math"

// Tobler's hiking function (W. Tobler 1993, Three presentations on
// geographical analysis and modeling, NCGIA report 93-1): on a slope s, rise
// over run in the direction walked, 6·exp(−3.5·|s + 0.05|) km/h on a path, and
// 0.6 times as fast off it.
const (
	toblerFast    = 6.0
	toblerRate    = 3.5
	toblerEase    = 0.05 // slope walked fastest is −0.05
	ToblerOffPath = 0.6
)

// Tobler is the walking speed in km/h on a path with a slope.
func Tobler(slope float64) float64 {
	return toblerFast * math.Exp(-toblerRate*math.Abs(slope+toblerEase))
}

// ToblerLevel is the speed on level paths, 5.04 km/h.
var ToblerLevel = Tobler(0)

// Pace is how fast one walks on the level, km/h; slopes change it as Tobler's
// function changes his.
type Pace struct{ PathKmh, OffKmh float64 }

// DefaultPace is Tobler's own.
func DefaultPace() Pace { return Pace{ToblerLevel, ToblerOffPath * ToblerLevel} }

// steepest is the slope beyond which nothing gets slower: no one walks there.
const steepest = 2.0

// seconds is the time of a leg of so many metres on the map and of rise.
func seconds(metres, rise, kmh float64) float64 {
	if metres == 0 {
		return 0
	}
	s := min(max(rise/metres, -steepest), steepest)
	return metres * 3.6 / (kmh / ToblerLevel * Tobler(s))
}

// paceTable keeps the seconds a metre by slope, since every edge asks.
type paceTable []float64

const paceSteps = 2000 // a unit of slope

func newPaceTable(kmh float64) paceTable {
	t := make(paceTable, 2*steepest*paceSteps+2)
	for i := range t {
		t[i] = seconds(1, float64(i)/paceSteps-steepest, kmh)
	}
	return t
}

// of is the same as seconds to within a part in 10,000.
func (t paceTable) of(metres, rise float64) float64 {
	s := (min(max(rise/metres, -steepest), steepest) + steepest) * paceSteps
	i := min(int(s), len(t)-2)
	f := s - float64(i)
	return metres * (t[i] + f*(t[i+1]-t[i]))
}
