package vector

import (
	"math/big"

	"github.com/paulmach/orb"
)

// turnError bounds the rounding error of a turn worked out in float64, as a
// share of the sum of its two products: (3 + 16ε)ε with ε = 2⁻⁵³ (Shewchuk 1997,
// Adaptive precision floating-point arithmetic and fast robust geometric
// predicates, bound A of orient2d; from memory).
const turnError = (3 + 16*0x1p-53) * 0x1p-53

// turn tells exactly on which side of the way from a to b the point c lies:
// 1 left, −1 right, 0 on the line. Coordinates are finite.
func turn(a, b, c orb.Point) int {
	if t := quickTurn(a, b, c); t != 0 {
		return t
	}
	return turnExactly(a, b, c)
}

// quickTurn is turn where float64 is sure of it, else 0.
func quickTurn(a, b, c orb.Point) int {
	// Converted, so that no machine fuses a product into the difference.
	l := float64((a[0] - c[0]) * (b[1] - c[1]))
	r := float64((a[1] - c[1]) * (b[0] - c[0]))
	d, sum := l-r, max(l, -l)+max(r, -r)
	// Very small products lose bits that the bound does not know of.
	if sum > 1e-280 {
		if d > turnError*sum {
			return 1
		}
		if d < -turnError*sum {
			return -1
		}
	}
	return 0
}

func turnExactly(a, b, c orb.Point) int {
	if (a[0] == c[0] || b[1] == c[1]) && (a[1] == c[1] || b[0] == c[0]) {
		return 0
	}
	r := func(v float64) *big.Rat { return new(big.Rat).SetFloat64(v) }
	less := func(u, v float64) *big.Rat { return new(big.Rat).Sub(r(u), r(v)) }
	left := new(big.Rat).Mul(less(a[0], c[0]), less(b[1], c[1]))
	right := new(big.Rat).Mul(less(a[1], c[1]), less(b[0], c[0]))
	return left.Cmp(right)
}

// ringSide tells exactly where p lies: 1 inside the ring (even-odd), 0 on it,
// −1 outside. An unclosed ring is taken as closed.
func ringSide(ring orb.Ring, p orb.Point) int {
	side := -1
	for i, a := range ring {
		b := ring[0]
		if i+1 < len(ring) {
			b = ring[i+1]
		}
		if a == p {
			return 0
		}
		if a[1] == p[1] && b[1] == p[1] && (a[0] > p[0]) != (b[0] > p[0]) {
			return 0
		}
		if (a[1] > p[1]) == (b[1] > p[1]) {
			continue
		}
		t := turn(a, b, p)
		if t == 0 {
			return 0
		}
		if (t > 0) == (b[1] > a[1]) { // the side crosses the ray from p to the east
			side = -side
		}
	}
	return side
}

// polygonHolds tells exactly whether p lies in a polygon or on its outline,
// those of its holes among it.
func polygonHolds(g orb.Polygon, p orb.Point) bool {
	for i, ring := range g {
		side := ringSide(ring, p)
		if side == 0 {
			return true
		}
		if (side > 0) != (i == 0) {
			return false
		}
	}
	return len(g) > 0
}
