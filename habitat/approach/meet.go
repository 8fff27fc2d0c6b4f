package approach

import (
	"math"

	"github.com/paulmach/orb"
)

// touchM: what lies within a thousandth of a millimetre is the same place.
const touchM = 1e-6

// hit is a place where two segments meet: how far along each (0 … 1, exactly 0
// or 1 at an end) and where.
type hit struct {
	ta, tb float64
	at     orb.Point
}

// meet gives the places where the segments a0–a1 and b0–b1 meet, at most four
// of them: ends that lie on the other segment (both ends of a shared stretch),
// else the point where they cross. An end keeps its own coordinates. Neither
// segment may be without length.
func meet(a0, a1, b0, b1 orb.Point) (hits [4]hit, n int) {
	// Most pairs asked are not near each other, or one lies beside the other.
	rx, ry := a1[0]-a0[0], a1[1]-a0[1]
	for k := range 2 {
		if min(a0[k], a1[k]) > max(b0[k], b1[k])+touchM || min(b0[k], b1[k]) > max(a0[k], a1[k])+touchM {
			return hits, 0
		}
	}
	c0 := rx*(b0[1]-a0[1]) - ry*(b0[0]-a0[0])
	c1 := rx*(b1[1]-a0[1]) - ry*(b1[0]-a0[0])
	if least := min(math.Abs(c0), math.Abs(c1)); c0 > 0 == (c1 > 0) && least*least > 4*touchM*touchM*(rx*rx+ry*ry) {
		return hits, 0
	}
	for i, p := range [2]orb.Point{b0, b1} {
		if t, d2 := onto(p, a0, a1); d2 <= touchM*touchM {
			hits[n] = hit{atEnd(t, p, a0, a1), float64(i), p}
			n++
		}
	}
	for i, p := range [2]orb.Point{a0, a1} {
		if t, d2 := onto(p, b0, b1); d2 <= touchM*touchM {
			h := hit{float64(i), atEnd(t, p, b0, b1), p}
			if n == 0 || h.tb != hits[0].tb || h.ta != hits[0].ta {
				hits[n] = h
				n++
			}
		}
	}
	if n > 0 {
		return hits, n
	}
	sx, sy := b1[0]-b0[0], b1[1]-b0[1]
	wx, wy := b0[0]-a0[0], b0[1]-a0[1]
	d := rx*sy - ry*sx
	if d == 0 {
		return hits, 0
	}
	t, u := (wx*sy-wy*sx)/d, (wx*ry-wy*rx)/d
	if t <= 0 || t >= 1 || u <= 0 || u >= 1 {
		return hits, 0
	}
	hits[0] = hit{t, u, orb.Point{a0[0] + t*rx, a0[1] + t*ry}}
	return hits, 1
}

// onto gives how far along a–b (0 … 1) the point of it nearest to p is, and the
// square of the distance to it.
func onto(p, a, b orb.Point) (t, d2 float64) {
	vx, vy := b[0]-a[0], b[1]-a[1]
	wx, wy := p[0]-a[0], p[1]-a[1]
	if l2 := vx*vx + vy*vy; l2 > 0 {
		t = min(max((wx*vx+wy*vy)/l2, 0), 1)
		wx, wy = wx-t*vx, wy-t*vy
	}
	return t, wx*wx + wy*wy
}

// atEnd makes t exactly 0 or 1 when p touches that end of a–b.
func atEnd(t float64, p, a, b orb.Point) float64 {
	switch {
	case distance(p, a) <= touchM:
		return 0
	case distance(p, b) <= touchM:
		return 1
	}
	return t
}

// between is the point a part t of the way from a to b.
func between(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}
