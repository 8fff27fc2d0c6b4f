package vector

import (
	"errors"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// errTangled is mend's for an outline that crosses itself so often that mending
// it would take hours and mean nothing.
var errTangled = errors.New("its outline crosses itself too often to be mended")

// tangled tells whether the sides of polygons cross more than 5000 times and
// more than once a side. Outlines drawn or computed badly cross now and then; a
// scribble of n sides crosses about n² times, and that is what mending costs.
func tangled(g orb.Geometry) bool {
	var sides [][2]orb.Point
	add := func(p orb.Polygon) {
		for _, ring := range p {
			for i := 1; i < len(ring); i++ {
				sides = append(sides, [2]orb.Point{ring[i-1], ring[i]})
			}
		}
	}
	switch g := g.(type) {
	case orb.Polygon:
		add(g)
	case orb.MultiPolygon:
		for _, p := range g {
			add(p)
		}
	}
	limit := 5000 + len(sides)
	// Looking alone must come to an end too.
	looks := 1000*len(sides) + 1_000_000
	if n := len(sides); n*(n-1)/2 <= limit {
		return false
	}
	var boxes rtree.RTreeG[int]
	for i, s := range sides {
		a, b := s[0], s[1]
		lo := [2]float64{min(a[0], b[0]), min(a[1], b[1])}
		hi := [2]float64{max(a[0], b[0]), max(a[1], b[1])}
		boxes.Search(lo, hi, func(_, _ [2]float64, j int) bool {
			c, d := sides[j][0], sides[j][1]
			if quickTurn(a, b, c)*quickTurn(a, b, d) < 0 && quickTurn(c, d, a)*quickTurn(c, d, b) < 0 {
				limit--
			}
			looks--
			return limit >= 0 && looks >= 0
		})
		if limit < 0 || looks < 0 {
			return true
		}
		boxes.Insert(lo, hi, i)
	}
	return false
}
