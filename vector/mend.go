package vector

import (
	"encoding/binary"
	"fmt"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// mend gives g as valid polygons (OGC 06-103r4: rings closed, none crossing
// itself or another, holes inside). changed is false, and g bit for bit as it
// was, when it was valid; g is nil when nothing of it encloses ground. The
// error is errTangled, or tells of a fault of the library.
//
// Kept is all ground an outer ring goes round, in whatever sense and however
// often, less what the holes go round (GEOS, structure method); a hole that
// does not meet its outer ring is taken for a part written as a hole.
func mend(g orb.Geometry) (_ orb.Geometry, changed bool, err error) {
	g, changed = closeRings(g)
	if g == nil || plainlyValid(g) {
		return g, changed, nil
	}
	text, err := wkb.Marshal(g, binary.LittleEndian)
	if err != nil {
		return nil, false, err
	}
	if judgeWKB(text) != shapeLost {
		return g, changed, nil
	}
	if tangled(g) {
		return nil, true, errTangled
	}
	text, verdict := mendWKB(text)
	if verdict != shapeMended {
		return nil, true, nil
	}
	mended, err := wkb.Unmarshal(text)
	if err != nil {
		return nil, false, fmt.Errorf("mended outline not understood: %w", err)
	}
	// Lines and points that are left of spikes are no ground.
	out := pick(mended, Polygons)
	if isEmpty(out) {
		return nil, true, nil
	}
	return out, true, nil
}

// closeRings closes open rings and drops those that cannot enclose ground,
// having fewer than four points when closed; polygons go with their outer ring.
func closeRings(g orb.Geometry) (_ orb.Geometry, changed bool) {
	polygon := func(p orb.Polygon) orb.Polygon {
		for i := 0; i < len(p); i++ {
			r := p[i]
			if n := len(r); n > 0 && r[0] != r[n-1] {
				r = append(r[:n:n], r[0])
				p[i], changed = r, true
			}
			if len(r) >= 4 {
				continue
			}
			changed = true
			if i == 0 {
				return nil
			}
			p = slices.Delete(p, i, i+1)
			i--
		}
		return p
	}
	switch g := g.(type) {
	case orb.Polygon:
		if p := polygon(g); len(p) > 0 {
			return p, changed
		}
	case orb.MultiPolygon:
		kept := g[:0]
		for _, p := range g {
			if p = polygon(p); len(p) > 0 {
				kept = append(kept, p)
			}
		}
		changed = changed || len(kept) < len(g)
		if len(kept) > 0 {
			return kept, changed
		}
	}
	return nil, true
}

// dropStubs drops the lines of fewer than two points, which go nowhere.
func dropStubs(g orb.Geometry) (_ orb.Geometry, changed bool) {
	switch g := g.(type) {
	case orb.LineString:
		if len(g) < 2 {
			return nil, true
		}
	case orb.MultiLineString:
		kept := slices.DeleteFunc(g, func(l orb.LineString) bool { return len(l) < 2 })
		if len(kept) == 0 {
			return nil, true
		}
		return kept, len(kept) < len(g)
	}
	return g, false
}

// Up to these sizes every side of a ring is held against every other; beyond,
// the general check is as quick.
const (
	plainSides = 64
	plainParts = 8
)

// plainlyValid tells whether polygons without holes are seen to be valid by a
// plain look. False says only that a closer look is wanted.
func plainlyValid(g orb.Geometry) bool {
	switch g := g.(type) {
	case orb.Polygon:
		return len(g) == 1 && simpleRing(g[0])
	case orb.MultiPolygon:
		if len(g) > plainParts {
			return false
		}
		for i, p := range g {
			if !plainlyValid(p) {
				return false
			}
			for _, q := range g[:i] {
				if q.Bound().Intersects(p.Bound()) {
					return false
				}
			}
		}
		return true
	}
	return false
}

// simpleRing tells whether a closed ring of few sides certainly nowhere meets
// itself. Points repeated in a row are allowed, as in the standard.
func simpleRing(ring orb.Ring) bool {
	if len(ring) > plainSides {
		return false
	}
	var store [plainSides]orb.Point
	pts := store[:0]
	for i, p := range ring {
		if i == 0 || p != ring[i-1] {
			pts = append(pts, p)
		}
	}
	n := len(pts) - 1 // sides; the last point is the first again
	if n < 3 {
		return false
	}
	for i := range n {
		a, b := pts[i], pts[i+1]
		x0, x1, y0, y1 := min(a[0], b[0]), max(a[0], b[0]), min(a[1], b[1]), max(a[1], b[1])
		for j := i + 1; j < n; j++ {
			c, d := pts[j], pts[j+1]
			if min(c[0], d[0]) > x1 || max(c[0], d[0]) < x0 || min(c[1], d[1]) > y1 || max(c[1], d[1]) < y0 {
				continue
			}
			switch {
			case j == i+1:
				if foldsBack(a, b, d) {
					return false
				}
			case i == 0 && j == n-1:
				if foldsBack(c, a, b) {
					return false
				}
			default:
				if quickTurn(a, b, c)*quickTurn(a, b, d) <= 0 && quickTurn(c, d, a)*quickTurn(c, d, b) <= 0 {
					return false
				}
			}
		}
	}
	return true
}

// foldsBack tells whether the side from b to c may lie on that from a to b.
func foldsBack(a, b, c orb.Point) bool {
	// Where both coordinates go on in their direction the boxes of the two sides
	// have only b in common.
	if (a[0] <= b[0]) == (b[0] <= c[0]) && (a[1] <= b[1]) == (b[1] <= c[1]) {
		return false
	}
	return quickTurn(a, b, c) == 0
}
