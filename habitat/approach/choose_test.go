package approach

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
)

// random makes a small country of paths, roads, bridges, streams, lakes and
// closed ground, and patches in it.
func random(t testing.TB, seed uint64, workers int) (*Network, []Target) {
	r := rand.New(rand.NewPCG(41, seed))
	var streams []orb.Geometry
	for range 6 {
		streams = append(streams, wander(r, 2000, 60, 25))
	}
	g := meadow(streams...)
	for i := range 8 {
		p := orb.Point{2000 * r.Float64(), 2000 * r.Float64()}
		bits := WaterBit
		if i > 5 {
			bits = ClosedBit
		}
		g = g.flood(orb.Bound{Min: p, Max: orb.Point{p[0] + 300*r.Float64(), p[1] + 300*r.Float64()}}, bits)
	}
	g.height = func(p orb.Point) float64 { return 200 + 20*math.Sin(p[0]/150)*math.Cos(p[1]/200) }
	var ways []Way
	for i := range 14 {
		ways = append(ways, Way{Line: wander(r, 2000, 70, 4+r.IntN(14)), Kind: Kind(i % 3 / 2), Bridge: i%7 == 6})
	}
	var starts []Start
	for i := range 5 {
		starts = append(starts, Start{Point: orb.Point{2000 * r.Float64(), 2000 * r.Float64()}, Name: fmt.Sprint("start ", i), Kind: "parking"})
	}
	n, _ := build(t, ways, starts, g, Options{Workers: workers, StraightFactor: 1.2 + r.Float64(), MaxStraightM: 700})
	var targets []Target
	for i := range 40 {
		c, size := orb.Point{2000 * r.Float64(), 2000 * r.Float64()}, 20+150*r.Float64()
		if i%5 == 0 { // on a way
			c = ways[r.IntN(len(ways))].Line[2]
		}
		var border []orb.Point
		for k := range 12 {
			s, co := math.Sincos(float64(k) / 12 * 2 * math.Pi)
			border = append(border, orb.Point{c[0] + size*co, c[1] + size*s})
		}
		targets = append(targets, Target{Border: border, Middle: c})
	}
	return n, targets
}

// plainBest tries every place to leave with every border point. The best place
// in the middle of a piece is found by narrowing down, not by the formula.
func plainBest(n *Network, border []orb.Point, reach float64) (effort float64, ok bool) {
	effort = math.Inf(1)
	try := func(reached float64, leave, b orb.Point) {
		d := distance(leave, b)
		if d <= reach*(1+1e-9) {
			d = 0
		}
		if d > n.o.MaxStraightM || math.IsInf(reached, 1) {
			return
		}
		if water, closed := n.ground.Blocked(b, leave); water || closed {
			return
		}
		effort = min(effort, reached+n.o.StraightFactor*d+n.o.CrossingM*float64(n.ground.Crossings(b, leave)))
	}
	for _, b := range border {
		for i, s := range n.starts {
			try(n.effort[n.starts0+int32(i)], s.Point, b)
		}
		for _, p := range n.pieces {
			for k, from := range [2]int32{p.u, p.v} {
				if p.flags&[2]uint8{leaveU, leaveV}[k] != 0 {
					try(n.effort[from], n.nodes[from], b)
				}
				if p.flags&leaveMiddle == 0 {
					continue
				}
				a, z := n.nodes[from], n.nodes[p.other(from)]
				if _, d2 := onto(b, a, z); d2 > n.o.MaxStraightM*n.o.MaxStraightM {
					continue
				}
				lo, hi := 0.0, 1.0
				cost := func(t float64) float64 {
					return t*p.length + n.o.StraightFactor*distance(between(a, z, t), b)
				}
				for range 50 {
					if t1, t2 := lo+(hi-lo)/3, hi-(hi-lo)/3; cost(t1) < cost(t2) {
						hi = t2
					} else {
						lo = t1
					}
				}
				if t := (lo + hi) / 2; t > 1e-6 && t < 1-1e-6 && distance(between(a, z, t), b) > reach {
					try(n.effort[from]+t*p.length, between(a, z, t), b)
				}
				foot, d2 := onto(b, a, z)
				if d2 > reach*reach || distance(a, b) <= reach {
					continue
				}
				lo, hi = 0, foot // reach is met between them
				for range 60 {
					if mid := (lo + hi) / 2; distance(between(a, z, mid), b) > reach {
						lo = mid
					} else {
						hi = mid
					}
				}
				try(n.effort[from]+hi*p.length, between(a, z, hi), b)
			}
		}
	}
	return effort, !math.IsInf(effort, 1)
}

func TestChoiceAgainstAllPairs(t *testing.T) {
	found, crossed, barred, through := 0, 0, 0, 0
	for seed := range uint64(8) {
		n, targets := random(t, seed, 1)
		for i, target := range targets {
			// The border points are the corners of a regular polygon.
			side := distance(target.Border[0], target.Border[1])
			want, ok := plainBest(n, target.Border, min(side/2, reachM))
			w := n.To(target)
			if w.OK != ok || ok && math.Abs(w.EffortM-want) > 1e-4 {
				t.Errorf("seed %d, patch %d: effort %g, %t (%s); trying all gives %g, %t", seed, i, w.EffortM, w.OK, w.Why, want, ok)
			}
			if !w.OK {
				barred++
				continue
			}
			found++
			if w.Crossings > 0 {
				crossed++
			}
			if w.StraightM == 0 {
				through++
			}
			sound(t, n, w)
		}
	}
	if found < 150 || crossed < 30 || barred < 10 || through < 10 {
		t.Errorf("%d walks, %d with crossings, %d to patches on a path, %d patches not reached: the test is not sharp", found, crossed, through, barred)
	}
}

// sound holds what a walk says of itself together.
func sound(t *testing.T, n *Network, w Walk) {
	t.Helper()
	length := 0.0
	for i := 1; i < len(w.Line); i++ {
		length += distance(w.Line[i-1], w.Line[i])
	}
	if math.Abs(length-w.DistanceM) > 1e-6 || w.DistanceM != w.PathM+w.StraightM {
		t.Errorf("line of %g m for %g + %g = %g m", length, w.PathM, w.StraightM, w.DistanceM)
	}
	if e := w.PathM + n.o.StraightFactor*w.StraightM + n.o.CrossingM*float64(w.Crossings); math.Abs(e-w.EffortM) > 1e-6 {
		t.Errorf("effort %g, its parts give %g", w.EffortM, e)
	}
	if w.Line[0] != w.StartPoint || w.Line[len(w.Line)-1] != w.Entry {
		t.Errorf("line from %v to %v, want from %v to %v", w.Line[0], w.Line[len(w.Line)-1], w.StartPoint, w.Entry)
	}
	if len(w.Line) > 1 {
		from, to := n.ground.Height(w.StartPoint), n.ground.Height(w.Entry)
		if math.Abs(w.ClimbM-w.DescentM-(to-from)) > bandM {
			t.Errorf("climb %g and descent %g do not lead from %g to %g m", w.ClimbM, w.DescentM, from, to)
		}
	}
}

func TestSameForAnyWorkers(t *testing.T) {
	one, targets := random(t, 3, 1)
	want, err := one.All(t.Context(), targets)
	if err != nil {
		t.Fatal(err)
	}
	for workers := 2; workers < 6; workers++ {
		n, _ := random(t, 3, workers)
		got, err := n.All(t.Context(), targets)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%d workers (-one +many):\n%s", workers, d)
		}
		if d := cmp.Diff(one.pieces, n.pieces, cmp.AllowUnexported(piece{})); d != "" {
			t.Errorf("%d workers make another network:\n%s", workers, d)
		}
	}
}
