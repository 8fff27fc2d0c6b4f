package vector

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// Points a few units of rounding beside a line, where float64 alone errs: after
// the figure in Kettner, Mehlhorn, Pion, Schirra & Yap 2008, Classroom examples
// of robustness problems in geometric computations (set-up from memory).
func TestTurnBesideALine(t *testing.T) {
	wrong := 0
	for i := range 64 {
		for j := range 64 {
			p := orb.Point{0.5 + float64(i)*0x1p-53, 0.5 + float64(j)*0x1p-53}
			// The line y = x through (12, 12) and (24, 24).
			want := 0
			if p[1] > p[0] {
				want = 1
			} else if p[1] < p[0] {
				want = -1
			}
			q, r := orb.Point{12, 12}, orb.Point{24, 24}
			if got := turn(q, r, p); got != want {
				t.Fatalf("%v: turn %d, want %d", p, got, want)
			}
			if got := turn(r, q, p); got != -want {
				t.Fatalf("%v, line turned round: turn %d, want %d", p, got, -want)
			}
			naive := (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0])
			if (naive > 0) != (want > 0) || (naive < 0) != (want < 0) {
				wrong++
			}
		}
	}
	if wrong == 0 {
		t.Error("float64 alone got all right: the points are no test")
	}
}

func TestTurnLaws(t *testing.T) {
	r := rand.New(rand.NewPCG(91, 92))
	for range 3000 {
		var p [3]orb.Point
		for i := range p {
			p[i] = orb.Point{float64(r.IntN(7)) * 0.1, float64(r.IntN(7)) * 0.1}
			if r.IntN(4) == 0 {
				p[i] = orb.Point{math.Ldexp(r.Float64()-0.5, r.IntN(60)), math.Ldexp(r.Float64(), r.IntN(60))}
			}
		}
		a, b, c := p[0], p[1], p[2]
		want := turnExactly(a, b, c)
		if turn(a, b, c) != want || turn(b, c, a) != want || turn(c, a, b) != want || turn(b, a, c) != -want {
			t.Fatalf("%v: turns %d %d %d %d, want %d", p, turn(a, b, c), turn(b, c, a), turn(c, a, b), turn(b, a, c), want)
		}
		if q := quickTurn(a, b, c); q != 0 && q != want {
			t.Fatalf("%v: sure of %d, is %d", p, q, want)
		}
	}
}
