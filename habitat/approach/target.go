package approach

import (
	"fmt"
	"slices"

	"github.com/paulmach/orb"
)

// Target is a patch to come to.
type Target struct {
	Border []orb.Point // points on its outline in order, every few cells; up to some hundred
	Middle orb.Point   // used when there is no border
}

// outline is what is looked at of a target.
type outline struct {
	points []orb.Point
	// One who is within reach of a border point has come to the patch: half the
	// gap between border points, so that a path through the patch cannot slip
	// between two of them.
	reach float64
}

// reachM: a wide gap between border points brings no one to a patch farther
// off than this. Common practice, no source.
const reachM = 50

// outline gives the usable border points, with the middle (median) of the gaps
// between them.
func (t Target) outline() outline {
	border := t.Border
	if slices.ContainsFunc(border, func(p orb.Point) bool { return !finite(p) }) {
		border = slices.DeleteFunc(slices.Clone(border), func(p orb.Point) bool { return !finite(p) })
	}
	if len(border) == 0 && finite(t.Middle) {
		border = []orb.Point{t.Middle}
	}
	if len(border) < 3 {
		return outline{border, 0}
	}
	gaps := make([]float64, len(border)-1)
	for i := range gaps {
		gaps[i] = distance(border[i], border[i+1])
	}
	slices.Sort(gaps)
	return outline{border, min(gaps[len(gaps)/2]/2, reachM)}
}

// why says why no choice was found.
func (n *Network) why(water, closed bool) string {
	switch {
	case water && closed:
		return "no way found that is dry and open: water and closed ground lie between"
	case water:
		return "no dry way found: open water lies between"
	case closed:
		return "no open way found: closed ground lies between"
	}
	return fmt.Sprintf("no path from a parking place comes within %g m", n.o.MaxStraightM)
}
