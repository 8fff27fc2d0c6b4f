package approach

import (
	"fmt"
	"math"
	"runtime"

	"github.com/paulmach/orb"
)

// Kind says what a way is.
type Kind uint8

// Kinds of ways. Both are walked alike; only a path is taken to ford the
// streams it crosses, and only a path ends where ground is closed to the public.
// That a road has bridges or culverts and is a public way is common practice, no
// source; one that is barred to walkers is Closed.
const (
	Path Kind = iota
	Road
)

func (k Kind) String() string {
	if k == Road {
		return "road"
	}
	return "path"
}

// Way is one path or road.
type Way struct {
	Line   orb.LineString // metres, frame CRS
	Kind   Kind
	Bridge bool   // carried over (or led under) what it crosses: joined only where it shares a vertex and at its ends
	Name   string // may be ""
	Closed bool   // not open to walkers: left out
}

// Start is a place where a car may lawfully stand.
type Start struct {
	Point orb.Point // metres, frame CRS
	Name  string    // may be ""
	Kind  string    // what it is, in the caller's words: "parking", "road"
}

// Ground is what lies between paths and patch. It is asked from several
// goroutines at once. StreamIndex and WaterPlane answer two of its questions.
type Ground interface {
	// Height of the ground in metres, NaN where it is not known.
	Height(p orb.Point) float64
	// Blocked says whether the straight leg crosses open water, or ground closed
	// to the public. It may stop at the first of the two it meets. Legs to a patch
	// are asked from the patch outwards, since that is where water is.
	Blocked(a, b orb.Point) (water, closed bool)
	// Crossings is how many mapped streams the leg crosses; one touched by an end
	// counts, and a leg of no length (a == b) tells whether the point is on one.
	Crossings(a, b orb.Point) int
}

// Options of a network. A zero means the default. The defaults are common
// practice, no source.
type Options struct {
	SnapM          float64 // loose ends and starts join the ways within so many metres: 30
	StraightFactor float64 // effort of a metre off the path, at least 1: 1.5
	CrossingM      float64 // effort of one crossing in metres of path: 300
	MaxStraightM   float64 // no straight leg to a patch is longer: 2000 m
	WetPathM       float64 // a path without a bridge that runs in open water for longer is not walked: 30 m
	ClosedPathM    float64 // a path that runs in closed ground for longer is not walked: 30 m, since borders are off by a cell
	Workers        int     // the result is the same for any number: as many as processors
}

const (
	startReachM = 300 // a start is led straight to a way no farther off than this
	pieceM      = 60  // ways are cut into pieces no longer than this, so that one may leave them anywhere sensible
	fordM       = 1   // a stream on a path is narrowed down to so much
	shoreM      = 5   // a path's edge of open water likewise
)

// complete gives the options with their defaults, or says which is wrong.
func (o Options) complete() (Options, error) {
	for _, f := range []struct {
		name     string
		value    *float64
		fallback float64
		least    float64
	}{
		{"SnapM", &o.SnapM, 30, 0},
		{"StraightFactor", &o.StraightFactor, 1.5, 1},
		{"CrossingM", &o.CrossingM, 300, 0},
		{"MaxStraightM", &o.MaxStraightM, 2000, 0},
		{"WetPathM", &o.WetPathM, 30, 0},
		{"ClosedPathM", &o.ClosedPathM, 30, 0},
	} {
		if *f.value == 0 {
			*f.value = f.fallback
		}
		if !(*f.value >= f.least) || math.IsInf(*f.value, 1) {
			return o, fmt.Errorf("approach options: %s is %g, give a number not less than %g", f.name, *f.value, f.least)
		}
	}
	if o.SnapM > startReachM {
		return o, fmt.Errorf("approach options: SnapM is %g, give at most %d m", o.SnapM, startReachM)
	}
	if o.Workers <= 0 {
		o.Workers = runtime.GOMAXPROCS(0)
	}
	return o, nil
}

// finite says whether a point has two usable numbers; beyond 1e9 m nothing is
// a place and squares lose their metres.
func finite(p orb.Point) bool {
	return math.Abs(p[0]) <= 1e9 && math.Abs(p[1]) <= 1e9
}

func distance(a, b orb.Point) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }
