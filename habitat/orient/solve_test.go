package orient

import (
	"flag"
	"math"
	"math/rand/v2"
	"testing"
)

var study = flag.Int("study", 0, "how many large random problems to solve, for the table of gaps")

// invent makes a day: sites on a plane, legs with a detour and a slope that
// differs by direction, some of them barred.
func invent(r *rand.Rand, n int) Problem {
	type xy struct{ x, y, z float64 }
	at := make([]xy, n+1)
	for i := range at {
		at[i] = xy{r.Float64() * 100, r.Float64() * 100, r.Float64() * 20}
	}
	p := Problem{Budget: 60 + 400*r.Float64()}
	for i := range at {
		row := make([]float64, n+1)
		for j := range at {
			if i == j {
				continue
			}
			row[j] = math.Hypot(at[i].x-at[j].x, at[i].y-at[j].y)*(1+0.3*r.Float64()) + max(0, at[j].z-at[i].z)
			if r.IntN(20) == 0 {
				row[j] = math.Inf(1)
			}
		}
		p.Legs = append(p.Legs, row)
	}
	for range n {
		var s Site
		slope := 0.02 * r.Float64()
		for range 1 + r.IntN(3) {
			t := 5 + 60*r.Float64()
			s = append(s, Segment{t, slope * t})
			slope *= r.Float64()
		}
		p.Sites = append(p.Sites, s)
	}
	return p
}

// brute goes through every order of every subset, and spends what time is left
// minute by minute on the best piece at hand: no bound, no table, no sorting
// shared with the code it judges.
func brute(p *Problem) float64 {
	best := 0.0
	n := len(p.Sites)
	used := make([]bool, n)
	var step func(at int, time float64)
	step = func(at int, time float64) {
		if back := time + p.Legs[at][0]; at > 0 && back <= p.Budget {
			best = math.Max(best, spend(p, used, p.Budget-back))
		}
		for i := range n {
			if t := time + p.Legs[at][i+1]; !used[i] && t <= p.Budget {
				used[i] = true
				step(i+1, t)
				used[i] = false
			}
		}
	}
	step(0, 0)
	return best
}

func spend(p *Problem, used []bool, left float64) float64 {
	var next [16]int
	value := 0.0
	for left > 0 {
		at, slope := -1, 0.0
		for i, s := range p.Sites {
			if used[i] && next[i] < len(s) {
				if v := s[next[i]].Value / s[next[i]].Minutes; v > slope {
					at, slope = i, v
				}
			}
		}
		if at < 0 {
			break
		}
		t := math.Min(left, p.Sites[at][next[at]].Minutes)
		value += slope * t
		left -= t
		next[at]++
	}
	return value
}

func TestSolveEqualsBruteForce(t *testing.T) {
	r := rand.New(rand.NewPCG(19, 93))
	counts := map[int]int{}
	for k := range 1000 {
		n := 1 + k%10
		p := invent(r, n)
		if n == 10 { // every order of ten that fits is gone through
			p.Budget = 60 + 200*r.Float64()
		}
		want := brute(&p)
		got, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.Value-want) > 1e-9*max(1, want) {
			t.Fatalf("case %d, %d sites: value %.12f, every order gives %.12f", k, n, got.Value, want)
		}
		if !got.Proven || got.Gap() != 0 {
			t.Fatalf("case %d: %d sites and not proven: bound %g, value %g", k, n, got.Bound, got.Value)
		}
		stays := 0.0
		for _, m := range got.Minutes {
			stays += m
		}
		if w := p.walk(got.Order); math.Abs(w-got.Walking) > 1e-9 || w+stays > p.Budget+1e-6 {
			t.Fatalf("case %d: %g walking, %g staying in a budget of %g", k, got.Walking, stays, p.Budget)
		}
		if len(got.Order) > 1 {
			counts[n]++
		}
	}
	if counts[10] < 50 {
		t.Errorf("only %d of 100 cases of ten sites visit more than one", counts[10])
	}
}

// With every bound switched off by a poor first plan, and with a good one, the
// value is the same; and the heuristic alone is near.
func TestSearchIsNearTheBest(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	sum, least := 0.0, 1.0
	const cases = 60
	for range cases {
		p := invent(r, 10)
		ids := make([]int, 10)
		for i := range ids {
			ids[i] = i
		}
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		v, _ := p.worth(search(&p, ids, shakes))
		share := 1.0
		if plan.Value > 0 {
			share = max(v, 0) / plan.Value
		}
		if share > 1+1e-9 {
			t.Fatalf("the heuristic gathers %g, the best plan %g", v, plan.Value)
		}
		sum += share
		least = min(least, share)
	}
	t.Logf("heuristic alone: %.4f of the best on average, %.3f at least", sum/cases, least)
	if sum/cases < 0.99 {
		t.Errorf("the heuristic alone gathers %.3f of the best on average", sum/cases)
	}
}

func TestBoundHoldsBeyondTheExact(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 4 {
		p := invent(r, 22)
		p.Budget = 250
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Bound < plan.Value || plan.Gap() > 0.25 {
			t.Errorf("22 sites: value %g, bound %g", plan.Value, plan.Bound)
		}
		// No random way beats the bound.
		for range 2000 {
			order := r.Perm(22)[:1+r.IntN(8)]
			if v, _ := p.worth(order); v > plan.Bound+1e-9 {
				t.Fatalf("a way gathers %g, above the bound %g", v, plan.Bound)
			}
		}
	}
}

func TestSolveStudy(t *testing.T) {
	if *study == 0 {
		t.Skip("run with -study 20 for the table of gaps")
	}
	for _, n := range []int{16, 25, 40, 60, 100} {
		r := rand.New(rand.NewPCG(uint64(n), 1))
		proven, worst, sum := 0, 0.0, 0.0
		for range *study {
			p := invent(r, n)
			p.Budget = 300
			plan, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			if plan.Proven {
				proven++
			}
			worst = max(worst, plan.Gap())
			sum += plan.Gap()
		}
		t.Logf("%d sites: %d of %d proven, gap %.1f %% on average, %.1f %% at most", n, proven, *study, 100*sum/float64(*study), 100*worst)
	}
}

func TestSolveOddDays(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		name  string
		p     Problem
		order int
		value float64
	}{
		{"no site", Problem{Legs: [][]float64{{0}}, Budget: 100}, 0, 0},
		{"no time", Problem{Legs: [][]float64{{0, 1}, {1, 0}}, Sites: []Site{{{10, 1}}}, Budget: 0}, 0, 0},
		{"no way", Problem{Legs: [][]float64{{0, inf}, {inf, 0}}, Sites: []Site{{{10, 1}}}, Budget: 100}, 0, 0},
		{"a way there and none back", Problem{Legs: [][]float64{{0, 1}, {inf, 0}}, Sites: []Site{{{10, 1}}}, Budget: 100}, 0, 0},
		{"half of a stay", Problem{Legs: [][]float64{{0, 10}, {10, 0}}, Sites: []Site{{{20, 4}}}, Budget: 30}, 1, 2},
		{"the stay ends before the day", Problem{Legs: [][]float64{{0, 10}, {10, 0}}, Sites: []Site{{{20, 4}, {10, 1}}}, Budget: 300}, 1, 5},
	} {
		got, err := Solve(c.p)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		if len(got.Order) != c.order || math.Abs(got.Value-c.value) > 1e-12 || !got.Proven {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	for name, p := range map[string]Problem{
		"rows":     {Legs: [][]float64{{0}}, Sites: []Site{{{1, 1}}}},
		"negative": {Legs: [][]float64{{0, -1}, {1, 0}}, Sites: []Site{{{1, 1}}}},
		"convex":   {Legs: [][]float64{{0, 1}, {1, 0}}, Sites: []Site{{{1, 1}, {1, 2}}}},
		"budget":   {Legs: [][]float64{{0}}, Budget: math.NaN()},
	} {
		if _, err := Solve(p); err == nil {
			t.Errorf("%s: taken", name)
		}
	}
}
