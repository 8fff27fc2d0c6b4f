package vector

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
)

// CutAtAntimeridian cuts lines and polygons (longitude and latitude, degrees)
// of which a side crosses the antimeridian in two along it (RFC 7946 section
// 3.1.9); others come back as they are. A side is taken to go the short way
// round. A cut line becomes a multi line whose parts follow each other.
func CutAtAntimeridian(g orb.Geometry) (orb.Geometry, error) {
	if b := g.Bound(); b.Min[0] < -180 || b.Max[0] > 180 { // the writer refuses it
		return g, nil
	}
	switch g := g.(type) {
	case orb.LineString:
		if parts := cutLine(g); len(parts) > 1 {
			return parts, nil
		} else if len(parts) == 1 {
			return parts[0], nil
		}
	case orb.MultiLineString:
		var out orb.MultiLineString
		for _, l := range g {
			out = append(out, cutLine(l)...)
		}
		return out, nil
	case orb.Ring:
		return CutAtAntimeridian(orb.Polygon{g})
	case orb.Polygon:
		if !crossesAntimeridian(g) {
			return g, nil
		}
		return cutPolygon(g)
	case orb.MultiPolygon:
		var out orb.MultiPolygon
		for _, p := range g {
			if !crossesAntimeridian(p) {
				out = append(out, p)
				continue
			}
			parts, err := cutPolygon(p)
			if err != nil {
				return nil, err
			}
			out = append(out, parts...)
		}
		return out, nil
	}
	return g, nil
}

func crossesAntimeridian(p orb.Polygon) bool {
	for _, r := range p {
		for i := 1; i < len(r); i++ {
			if math.Abs(r[i][0]-r[i-1][0]) > 180 {
				return true
			}
		}
	}
	return false
}

// unrolled gives the points with longitudes that go on beyond 180 instead of
// jumping; the first is the one nearest to near.
func unrolled(pts []orb.Point, near float64) []orb.Point {
	out := make([]orb.Point, len(pts))
	for i, p := range pts {
		p[0] += 360 * math.Round((near-p[0])/360)
		out[i], near = p, p[0]
	}
	return out
}

// cutPolygon cuts a polygon that crosses the antimeridian.
func cutPolygon(p orb.Polygon) (orb.MultiPolygon, error) {
	whole := make(orb.Polygon, len(p))
	for i, r := range p {
		near := r[0][0]
		if i > 0 {
			near = whole[0].Bound().Center()[0]
		}
		whole[i] = unrolled(r, near)
	}
	b := whole.Bound()
	var out orb.MultiPolygon
	// The strips of 360 degrees that the unrolled polygon touches, west to east.
	for turn := math.Floor((b.Min[0] + 180) / 360); turn*360-180 < b.Max[0]; turn++ {
		west := turn*360 - 180
		strip := orb.Bound{Min: orb.Point{west, b.Min[1]}, Max: orb.Point{west + 360, b.Max[1]}}
		part := clip.Polygon(strip, whole.Clone())
		if part == nil {
			continue
		}
		for _, r := range part {
			for i := range r {
				r[i][0] = min(max(r[i][0]-360*turn, -180), 180)
			}
		}
		// What clipping leaves of a bay that opens on the cut is joined along it.
		mended, _, err := mend(part)
		if err != nil {
			return nil, err
		}
		switch m := mended.(type) {
		case orb.Polygon:
			out = append(out, m)
		case orb.MultiPolygon:
			out = append(out, m...)
		}
	}
	return out, nil
}

// cutLine gives the parts of a line on either side of the antimeridian, each
// ending and the next beginning on it.
func cutLine(l orb.LineString) orb.MultiLineString {
	out := orb.MultiLineString{nil}
	for i, p := range l {
		if i > 0 && math.Abs(p[0]-l[i-1][0]) > 180 {
			from := l[i-1]
			side := math.Copysign(180, from[0])
			to := p[0] + 2*side
			at := from[1]
			if to != from[0] {
				at += (p[1] - from[1]) * (side - from[0]) / (to - from[0])
			}
			last := &out[len(out)-1]
			if from != (orb.Point{side, at}) {
				*last = append(*last, orb.Point{side, at})
			}
			if len(*last) < 2 { // the line begins on the antimeridian
				*last = nil
				out = out[:len(out)-1]
			}
			out = append(out, orb.LineString{{-side, at}})
			if p == (orb.Point{-side, at}) {
				continue
			}
		}
		out[len(out)-1] = append(out[len(out)-1], p)
	}
	if n := len(out) - 1; n > 0 && len(out[n]) < 2 { // it ends on it
		out = out[:n]
	}
	return out
}
