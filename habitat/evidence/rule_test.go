package evidence

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// tolerance for sums of a few numbers of size 10 and below.
const tolerance = 1e-12

func randomRule(rng *rand.Rand) Rule {
	r := Rule{Temper: rng.Float64(), Cap: rng.Float64() * MaxShift, Certainty: rng.Float64() * 6}
	switch rng.IntN(8) {
	case 0:
		r.Temper = 0
	case 1:
		r.Temper = 1
	}
	return r
}

func randomShifts(rng *rand.Rand) []float64 {
	s := make([]float64, rng.IntN(8))
	for i := range s {
		switch rng.IntN(6) {
		case 0:
		case 1:
			s[i] = s[rng.IntN(i+1)] // a tie
		default:
			s[i] = rng.NormFloat64() * 2
		}
	}
	return s
}

// Hand-worked with pencil: 2 + ½·1 + ¼·½ = 2.625 for, 1.5 + ½·0.5 = 1.75 against.
func TestCombineByHand(t *testing.T) {
	r := Rule{Temper: 0.5, Cap: 5, Certainty: 3}
	for _, c := range []struct {
		shifts []float64
		want   float64
	}{
		{nil, 0},
		{[]float64{0, 0}, 0},
		{[]float64{1.25}, 1.25},
		{[]float64{0.5, 2, 1}, 2.625},
		{[]float64{-0.5, -1.5}, -1.75},
		{[]float64{-0.5, 0.5, 1, -1.5, 2, 0}, 0.875},
		{[]float64{4, 4, 4}, 5},
		{[]float64{-4, -4, -4}, -5},
	} {
		if got := r.Combine(c.shifts); got != c.want {
			t.Errorf("Combine(%v) = %g, want %g", c.shifts, got, c.want)
		}
	}
}

// Exact claims: order, zeros, no evidence, monotone, mirrored, within Cap.
func TestCombineProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for range 20000 {
		r, s := randomRule(rng), randomShifts(rng)
		before := slices.Clone(s)
		got := r.Combine(s)
		if !slices.Equal(s, before) {
			t.Fatalf("%v changed to %v", before, s)
		}
		if !(math.Abs(got) <= r.Cap) {
			t.Fatalf("%+v: Combine(%v) = %g beyond the cap", r, s, got)
		}
		mixed := slices.Insert(slices.Clone(s), rng.IntN(len(s)+1), 0)
		rng.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		if again := r.Combine(mixed); again != got {
			t.Fatalf("%+v: Combine(%v) = %g, but %g for %v", r, s, got, again, mixed)
		}
		mirror := slices.Clone(s)
		for i := range mirror {
			mirror[i] = -mirror[i]
		}
		if m := r.Combine(mirror); m != -got {
			t.Fatalf("%+v: Combine(%v) = %g, mirrored %g", r, s, got, m)
		}
		more := slices.Clone(s)
		if len(more) > 0 {
			more[rng.IntN(len(more))] += rng.ExpFloat64()
		}
		more = append(more, rng.ExpFloat64())
		if up := r.Combine(more); up < got {
			t.Fatalf("%+v: %v gives %g, more evidence for (%v) gives %g", r, s, got, more, up)
		}
	}
}

// A layer told again adds at most Temper of itself; n copies stay below
// 1/(1−Temper) of one (sum of a geometric series).
func TestCombineCountsAStoryOnce(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	for range 20000 {
		r, s := randomRule(rng), randomShifts(rng)
		if len(s) == 0 {
			continue
		}
		told := s[rng.IntN(len(s))]
		added := r.Combine(append(slices.Clone(s), told)) - r.Combine(s)
		if math.Abs(added) > r.Temper*math.Abs(told)+tolerance || added*told < 0 {
			t.Fatalf("%+v: %g told again among %v adds %g", r, told, s, added)
		}
		if r.Temper > 0.99 {
			continue
		}
		r.Cap = MaxShift
		one := rng.Float64() * (1 - r.Temper) * r.Cap // so that Cap is not what holds
		n := 1 + rng.IntN(40)
		want := one * (1 - math.Pow(r.Temper, float64(n))) / (1 - r.Temper)
		got := r.Combine(slices.Repeat([]float64{one}, n))
		if math.Abs(got-want) > tolerance || got > one/(1-r.Temper)+tolerance {
			t.Fatalf("%+v: %d copies of %g give %g, want %g below %g", r, n, one, got, want, one/(1-r.Temper))
		}
	}
}

// With Temper 1 the rule is Bayes' theorem for witnesses that are independent
// given the truth (Good 1950, from memory): the posterior found by counting out
// the joint table of truth and two witnesses.
func TestTemperOneIsBayes(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	r := Rule{Temper: 1, Cap: MaxShift, Certainty: maxCertainty}
	logit := func(p float64) float64 { return math.Log(p / (1 - p)) }
	chance := func() float64 { return 0.1 + 0.8*rng.Float64() }
	for range 1000 {
		prior := chance()
		a, b := [2]float64{chance(), chance()}, [2]float64{chance(), chance()} // P(witness says so | not bottomland, bottomland)
		yes, no := prior*a[1]*b[1], (1-prior)*a[0]*b[0]
		got := r.Apply(logit(prior), r.Combine([]float64{math.Log(a[1] / a[0]), math.Log(b[1] / b[0])}))
		if want := logit(yes / (yes + no)); math.Abs(got-want) > 1e-9 {
			t.Fatalf("prior %g, witnesses %v and %v: log-odds %g, want %g", prior, a, b, got, want)
		}
	}
}

func TestApplyByHand(t *testing.T) {
	r := Rule{Temper: 0.5, Cap: 3, Certainty: 2}
	for _, c := range []struct {
		name               string
		logit, shift, want float64
	}{
		{"no evidence", 1.2345, 0, 1.2345},
		{"agrees", 0.5, 1, 1.5},
		{"agrees, held", 1.5, 1, 2},
		{"agrees with surer terrain", 3.5, 1, 3.5},
		{"disagrees", -1, 0.5, -0.5},
		{"disagrees with surer terrain", -5, 3, -2},
		{"disagrees and turns it", -1, 2.5, 1.5},
		{"disagrees and is held beyond", -0.5, 3, 2},
		{"against, agrees", -0.5, -1, -1.5},
		{"against, held", -1.5, -1, -2},
		{"against surer terrain", -3.5, -1, -3.5},
		{"against, disagrees", 5, -3, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := r.Apply(c.logit, c.shift); got != c.want {
				t.Errorf("Apply(%g, %g) = %g, want %g", c.logit, c.shift, got, c.want)
			}
		})
	}
	if got := r.Apply(math.NaN(), 1); got == got {
		t.Errorf("Apply(NaN, 1) = %g, want NaN", got)
	}
}

func TestApplyProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 4))
	near := func() float64 { // often small, so that signs turn
		return rng.NormFloat64() * math.Pow(10, float64(rng.IntN(4)-2))
	}
	for range 50000 {
		r := randomRule(rng)
		l, s := near(), near()
		got := r.Apply(l, s)
		bound := max(math.Abs(l), r.Certainty)
		if r.Apply(l, 0) != l {
			t.Fatalf("%+v: no shift changes %g to %g", r, l, r.Apply(l, 0))
		}
		if !(math.Abs(got) <= bound) {
			t.Fatalf("%+v: Apply(%g, %g) = %g, beyond %g", r, l, s, got, bound)
		}
		if (got-l)*s < 0 || math.Abs(got-l) > math.Abs(s)+tolerance {
			t.Fatalf("%+v: Apply(%g, %g) = %g goes the wrong way or too far", r, l, s, got)
		}
		if l*s <= 0 && math.Abs(l+s) <= r.Certainty && got != l+s {
			t.Fatalf("%+v: Apply(%g, %g) = %g; a shift that disagrees counts whole", r, l, s, got)
		}
		if m := r.Apply(-l, -s); m != -got {
			t.Fatalf("%+v: Apply(%g, %g) = %g, mirrored %g", r, l, s, got, m)
		}
		dl, ds := math.Abs(near()), math.Abs(near())
		if up := r.Apply(l+dl, s+ds); up < got {
			t.Fatalf("%+v: Apply(%g, %g) = %g, but %g for %g and %g", r, l, s, got, up, l+dl, s+ds)
		}
		// No step is longer than the one taken in the arguments: no jump anywhere.
		if up := r.Apply(l+dl, s+ds); up-got > dl+ds+tolerance {
			t.Fatalf("%+v: from %g, %g by %g, %g the outcome jumps from %g to %g", r, l, s, dl, ds, got, up)
		}
	}
}

func TestRuleCheck(t *testing.T) {
	for _, r := range []Rule{DefaultRule(), {}, {Temper: 1, Cap: MaxShift, Certainty: maxCertainty}} {
		if err := r.Check(); err != nil {
			t.Errorf("%+v: %v", r, err)
		}
	}
	for want, r := range map[string]Rule{
		"temper: found -0.1; want a number from 0 to 1":     {Temper: -0.1},
		"temper: found NaN; want a number from 0 to 1":      {Temper: math.NaN()},
		"cap: found 8; want a number from 0 to 7.9":         {Cap: 8},
		"certainty: found +Inf; want a number from 0 to 20": {Certainty: math.Inf(1)},
	} {
		if err := r.Check(); err == nil || err.Error() != want {
			t.Errorf("%+v: error %v, want %s", r, err, want)
		}
	}
}
