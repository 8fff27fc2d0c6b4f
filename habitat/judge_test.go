package habitat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The fast judgement of a cell against the model written out plainly
// (Bottomland.Logit and the standard library's functions).
func TestJudgeFollowsTheModel(t *testing.T) {
	p := builtin(t)
	b := &p.Bottomland
	curve := p.Curves[0]
	a, e := curve.Metric()
	rng := rand.New(rand.NewPCG(3, 5))
	for range 20_000 {
		c := cellJudge{model: b, a: a, b: e, cell: 10, mapW: 1000, wantTerms: true,
			bottom: make([]uint16, 1), height: make([]uint16, 1), ratio: make([]uint16, 1), brook: make([]uint16, 1), far: make([]uint16, 1)}
		var ref baseRef
		z := 100 + rng.Float64()*60
		var ln []float64
		sizes := 1 + rng.IntN(4)
		for k := range sizes {
			c.sizes = append(c.sizes, k)
			km2, base := math.Exp(rng.Float64()*9), float32(100+rng.Float64()*40)
			ref.s[k] = c.ref(base, float32(km2), int64(rng.IntN(1000)*1000+rng.IntN(1000)))
			ln = append(ln, b.LnR(max(0, z-float64(base)), curve.DepthM(float64(float32(km2)))))
		}
		mean, near := ln[0], ref.s[0]
		if sizes > 1 {
			mean, near = 0, ref.s[1]
			for _, l := range ln[1:] {
				mean += l / float64(sizes-1)
			}
		}
		x, y, slope := float64(rng.IntN(1000)), float64(rng.IntN(1000)), rng.Float64()
		c.judge(0, &ref, z, x, y, slope)
		want := Logistic(b.Logit(mean, ln[0], 100*slope, 10*math.Hypot(x-near.x, y-near.y)))
		if got := float64(c.bottom[0]) / bottomUnit; math.Abs(got-want) > 0.5/bottomUnit+1e-6 {
			t.Fatalf("bottomland %.6f, want %.6f", got, want)
		}
		if got, want := float64(c.height[0])/heightUnit, max(0, z-ref.s[0].z); math.Abs(got-want) > 0.5/heightUnit+1e-9 {
			t.Fatalf("height %.4f, want %.4f", got, want)
		}
		if got, want := float64(c.ratio[0])/ratioUnit, math.Exp(mean); math.Abs(got-want) > 0.5/ratioUnit+1e-6*want {
			t.Fatalf("ratio %.4f, want %.4f", got, want)
		}
		if got, want := float64(c.brook[0])/ratioUnit, math.Exp(ln[0]); math.Abs(got-want) > 0.5/ratioUnit+1e-6*want {
			t.Fatalf("ratio above any stream %.4f, want %.4f", got, want)
		}
		if got, want := float64(c.far[0])/distanceUnit, 10*math.Hypot(x-near.x, y-near.y); math.Abs(got-want) > 0.5/distanceUnit+1e-6 {
			t.Fatalf("distance %.4f, want %.4f", got, want)
		}
	}
}
