package trip

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// expect goes through every outcome of every tree, and at each decides by
// going through all of them: no table.
func expect(b Belief, x, k, left int, cost float64) float64 {
	if left == 0 {
		return 0
	}
	m := (b.A + float64(x)) / (b.A + b.B + float64(x+k))
	return math.Max(0, m-cost+m*expect(b, x+1, k, left-1, cost)+(1-m)*expect(b, x, k+1, left-1, cost))
}

func TestGivingUpEqualsEveryOutcome(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 3))
	given := 0
	for range 300 {
		b := Belief{0.05 + 2*r.Float64(), 0.5 + 12*r.Float64()}
		trees := 1 + r.IntN(11)
		cost := b.Mean() * (0.3 + 1.2*r.Float64())
		got, ok := b.EmptyTrees(trees, cost)
		want, wantOK := 0, false
		for k := range trees {
			if expect(b, 0, k, trees-k, cost) <= 0 {
				want, wantOK = k, true
				break
			}
		}
		if got != want || ok != wantOK {
			t.Fatalf("%+v, %d trees at %g: give up after %d (%v), every outcome says %d (%v)", b, trees, cost, got, ok, want, wantOK)
		}
		if ok && got > 0 {
			given++
		}
	}
	if given < 30 {
		t.Errorf("only %d cases give up on the way", given)
	}
}

// Among all rules "leave after k empty trees, stay after a find", none gathers
// more than the rule's own k, on average over places of the belief.
func TestGivingUpBySimulation(t *testing.T) {
	b, trees, cost := BeliefOf(0.075, 20, BetweenPlaces), 60, 0.06
	k, ok := b.EmptyTrees(trees, cost)
	if !ok || k < 3 || k > 30 {
		t.Fatalf("k = %d, %v", k, ok)
	}
	const places = 200_000
	gain := make([]float64, trees+1) // by k
	law := distuv.Beta{Alpha: b.A, Beta: b.B, Src: rand.NewPCG(8, 1)}
	r := rand.New(rand.NewPCG(9, 1))
	for range places {
		p := law.Rand()
		first, finds := trees, 0
		for i := range trees {
			if r.Float64() < p {
				if finds == 0 {
					first = i
				}
				finds++
			}
		}
		for q := range gain {
			if first >= q { // left empty-handed
				gain[q] -= cost * float64(min(q, trees))
				if first >= trees {
					continue
				}
				continue
			}
			gain[q] += float64(finds) - cost*float64(trees)
		}
	}
	best := 0
	for q := range gain {
		if gain[q] > gain[best] {
			best = q
		}
	}
	t.Logf("rule k = %d gains %.4f a place; best of simulated k = %d gains %.4f", k, gain[k]/places, best, gain[best]/places)
	if gain[k] < gain[best]-0.01*places {
		t.Errorf("k = %d gains %.4f a place, k = %d gains %.4f", k, gain[k]/places, best, gain[best]/places)
	}
}

func TestGivingUpIsSensible(t *testing.T) {
	b := BeliefOf(0.075, 20, BetweenPlaces)
	last := math.MaxInt
	for _, cost := range []float64{0.02, 0.03, 0.04, 0.05, 0.06, 0.07} { // the better the rest of the day, the sooner
		k, ok := b.EmptyTrees(100, cost)
		if !ok {
			k = 100
		}
		if k > last {
			t.Errorf("at %g a tree one stays for %d empty trees, at less for %d", cost, k, last)
		}
		last = k
	}
	if _, ok := b.GiveUp(50, 3, 0); ok {
		t.Error("a place is given up though nothing else is to be found")
	}
	if k, _ := b.EmptyTrees(50, 0.5); k != 0 {
		t.Errorf("hopeless, and yet %d trees", k)
	}
}

func TestBeliefOf(t *testing.T) {
	// Variance m(1−m)(1/21 + 0.1) by its definition.
	b := BeliefOf(0.075, 20, 0.1)
	n := b.A + b.B
	if got, want := b.A*b.B/(n*n*(n+1)), 0.075*0.925*(1./21+0.1); math.Abs(got-want) > 1e-12 || math.Abs(b.Mean()-0.075) > 1e-12 {
		t.Errorf("%+v: variance %g, want %g", b, got, want)
	}
}

func TestStayTakesTheLikeliestFirst(t *testing.T) {
	look := Look{TreeMinutes: 3, OffKmh: 3}
	s := StayAt([]Trees{{"maple", 80, 0.005, 10}, {"elm", 20, 0.075, 20}, {"none", 0, 0.5, 1}, {"ash", 10, 0.05, 10}}, 3, look)
	if len(s) < 2 || s[0].Hosts[0] != "elm" || len(s[len(s)-1].Hosts) != 3 {
		t.Fatalf("%+v", s)
	}
	if want := 20*0.075 + 10*0.05 + 80*0.005; math.Abs(s[len(s)-1].Finds-want) > 1e-12 {
		t.Errorf("%g finds of all, want %g", s[len(s)-1].Finds, want)
	}
	last := math.Inf(1)
	for _, g := range s.Site() {
		if v := g.Value / g.Minutes; v > last+1e-12 {
			t.Errorf("a later piece gathers more: %g after %g", v, last)
		} else {
			last = v
		}
	}
	// 110 trees of all hosts: 330 min at the trees, 0.7124·√(110·30,000) m = 1,294 m at 50 m/min.
	if got := s[len(s)-1].Minutes; math.Abs(got-(330+1294.2/50)) > 0.1 {
		t.Errorf("%g minutes", got)
	}
	half := s.After(s[0].Minutes / 2)
	if math.Abs(half.Trees-s[0].Trees/2) > 1e-9 || math.Abs(half.Finds-s[0].Finds/2) > 1e-9 {
		t.Errorf("half: %+v", half)
	}
	if whole := s.After(1e6); whole.Trees != s[len(s)-1].Trees {
		t.Errorf("whole: %+v", whole)
	}
}

// The length of the tour through trees strewn at random, against ways found by
// the nearest neighbour and turning pieces round: the law says the shortest, so
// the found ones are a little longer.
func TestTourFactor(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	const n = 300
	type p struct{ x, y float64 }
	pts := make([]p, n)
	for i := range pts {
		pts[i] = p{r.Float64() * 100, r.Float64() * 100}
	}
	d := func(a, b p) float64 { return math.Hypot(a.x-b.x, a.y-b.y) }
	for i := 1; i < n; i++ {
		best := i
		for j := i + 1; j < n; j++ {
			if d(pts[i-1], pts[j]) < d(pts[i-1], pts[best]) {
				best = j
			}
		}
		pts[i], pts[best] = pts[best], pts[i]
	}
	for changed := true; changed; {
		changed = false
		for i := 1; i < n-1; i++ {
			for j := i + 1; j < n; j++ {
				if c := pts[(j+1)%n]; d(pts[i-1], pts[j])+d(pts[i], c) < d(pts[i-1], pts[i])+d(pts[j], c)-1e-9 {
					for a, b := i, j; a < b; a, b = a+1, b-1 {
						pts[a], pts[b] = pts[b], pts[a]
					}
					changed = true
				}
			}
		}
	}
	sum := 0.0
	for i := range pts {
		sum += d(pts[i], pts[(i+1)%n])
	}
	if got := sum / math.Sqrt(n*1e4); got < 0.70 || got > 0.86 { // edges add 0.33/√n of it (Johnson and McGeoch 1996, from memory)
		t.Errorf("%.3f·√(nA)", got)
	}
}
