package access

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// mostNames is how many units Over names.
const mostNames = 3

// Over gives, for a patch known by points in it (its cells' centres, say), the
// share of the points with each status, as At has it, by its number: they add
// up to 1, or to 0 without points. names are those of the units met, won or
// not, the most points first and in the order of Units among equals, three at
// most; units of one name count as one, those without a name are not named.
//
// Only the sides of a unit at the height of the points are compared with them;
// it goes fastest when points of one row follow each other.
func (l *Land) Over(points []orb.Point) (shares [statuses]float64, names []string) {
	if len(points) == 0 {
		return shares, nil
	}
	box := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, p := range points {
		if p[0]-p[0] == 0 && p[1]-p[1] == 0 { // a place that is no number is in no unit
			box = box.Extend(p)
		}
	}
	type met struct {
		name string
		n    int
	}
	var all []met
	place := map[string]int{}
	var near []int
	if !box.IsEmpty() {
		near = l.index.Search(box)
	}
	for _, i := range near {
		if _, seen := place[l.Units[i].Name]; !seen {
			place[l.Units[i].Name] = len(all)
			all = append(all, met{name: l.Units[i].Name})
		}
	}
	// Units of one name follow each other, so that one mark a point tells
	// whether it was counted for the name.
	slices.SortStableFunc(near, func(a, b int) int { return cmp.Compare(place[l.Units[a].Name], place[l.Units[b].Name]) })
	strictest, counted := make([]int, len(points)), make([]int, len(points))
	for k := range points {
		strictest[k], counted[k] = -1, -1
	}
	for _, i := range near {
		u := l.Units[i]
		g, name := newGround(u.Geometry, box.Min[1], box.Max[1]), place[u.Name]
		for k, p := range points {
			if !g.holds(p) {
				continue
			}
			if strictest[k] < 0 || caution(u.Status) > caution(Status(strictest[k])) {
				strictest[k] = int(u.Status)
			}
			if counted[k] != name {
				counted[k] = name
				all[name].n++
			}
		}
	}
	for _, s := range strictest {
		shares[max(s, int(Unknown))]++
	}
	for s := range shares {
		shares[s] /= float64(len(points))
	}
	slices.SortStableFunc(all, func(a, b met) int { return cmp.Compare(b.n, a.n) })
	for _, m := range all {
		if m.n > 0 && m.name != "" && len(names) < mostNames {
			names = append(names, m.name)
		}
	}
	return shares, names
}

// ground is what of a polygon or several matters to points between two
// northings: the sides that come there.
type ground struct {
	box   orb.Bound
	parts [][]side
	north float64  // of the point asked about last
	row   [][]side // what of parts comes to that northing
}

// side is one of a ring, from its lower end a to its upper end b.
type side struct{ a, b orb.Point }

func newGround(g orb.Geometry, low, high float64) *ground {
	out := &ground{box: g.Bound(), north: math.NaN()}
	var polygons orb.MultiPolygon
	switch g := g.(type) {
	case orb.Polygon:
		polygons = orb.MultiPolygon{g}
	case orb.MultiPolygon:
		polygons = g
	}
	for _, p := range polygons {
		var sides []side
		for _, r := range p {
			for i := range r {
				s := side{r[i], r[(i+1)%len(r)]}
				if s.a[1] > s.b[1] {
					s.a, s.b = s.b, s.a
				}
				if s.b[1] >= low && s.a[1] <= high {
					sides = append(sides, s)
				}
			}
		}
		if len(sides) > 0 {
			out.parts = append(out.parts, sides)
		}
	}
	return out
}

// holds tells whether the point, whose northing is one of those, is in one of
// the polygons (even-odd rule with holes); on an outline it is.
func (g *ground) holds(p orb.Point) bool {
	if !g.box.Contains(p) {
		return false
	}
	if p[1] != g.north {
		g.north, g.row = p[1], slices.Grow(g.row, len(g.parts))[:len(g.parts)]
		for k, sides := range g.parts {
			g.row[k] = g.row[k][:0]
			for _, s := range sides {
				if s.a[1] <= p[1] && p[1] <= s.b[1] {
					g.row[k] = append(g.row[k], s)
				}
			}
		}
	}
	return slices.ContainsFunc(g.row, func(sides []side) bool { return inside(sides, p) })
}

// inside counts the sides east of the point, all of which come to its northing.
func inside(sides []side, p orb.Point) bool {
	in := false
	for _, s := range sides {
		// Above 0 when the point lies west of the side.
		turn := (s.b[0]-s.a[0])*(p[1]-s.a[1]) - (s.b[1]-s.a[1])*(p[0]-s.a[0])
		if turn == 0 && p[0] >= min(s.a[0], s.b[0]) && p[0] <= max(s.a[0], s.b[0]) {
			return true
		}
		// The lower end belongs to the side, the upper one to the next.
		if turn > 0 && p[1] < s.b[1] {
			in = !in
		}
	}
	return in
}
