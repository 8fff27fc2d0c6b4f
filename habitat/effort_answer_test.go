package habitat

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// Clopper and Pearson 1934; values of the case worked out with scipy.stats.
func TestClopperPearson(t *testing.T) {
	var file struct {
		Rows []struct {
			X, N int
			CP   [2]float64 `json:"clopper_pearson95"`
		}
	}
	readCase(t, "binomial_intervals", &file)
	if len(file.Rows) < 5 {
		t.Fatal("no cases")
	}
	for _, r := range file.Rows {
		low, high := ClopperPearson(r.X, r.N, 0.95)
		near(t, "low", low, r.CP[0], 1e-7)
		near(t, "high", high, r.CP[1], 1e-7)
	}
	if low, high := ClopperPearson(0, 0, 0.95); low != 0 || high != 1 {
		t.Errorf("no trees: %g to %g", low, high)
	}
}

// Sources: n = ln(1−C)/ln(1−p) and conjugate updating of Beta(1,9) with 3 of
// 40, as in the cases trees_to_inspect and beta_binomial.
func TestAnswerEffort(t *testing.T) {
	mine, err := BeliefOfRate("3/40", 0)
	if err != nil {
		t.Fatal(err)
	}
	a, err := AnswerEffort(EffortQuestion{Belief: mine, Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	want := map[float64]int{0.8: 21, 0.9: 30, 0.95: 39, 0.99: 60}
	met := 0
	for _, row := range a.Table {
		if n, ok := want[row.Chance]; ok && row.Fixed != nil && *row.Fixed == n {
			met++
		}
		if row.Uncertain == nil || *row.Uncertain < *row.Fixed {
			t.Errorf("chance %g: %v trees for a doubtful rate, %d for a sure one", row.Chance, row.Uncertain, *row.Fixed)
		}
	}
	if met != len(want) || len(a.Table) != 5 || a.Seen != nil || a.Now != a.Before && *a.Now.Interval != *a.Before.Interval {
		t.Errorf("got %+v", a)
	}

	prior, err := BeliefOfRate("1/10", 0)
	if err != nil {
		t.Fatal(err)
	}
	a, err = AnswerEffort(EffortQuestion{Belief: prior, Confidence: 0.95, Checked: 40, Found: 3})
	if err != nil {
		t.Fatal(err)
	}
	if *a.Now.Beta != [2]float64{4, 46} {
		t.Errorf("belief after: %v, want [4 46]", *a.Now.Beta)
	}
	near(t, "rate after", a.Now.Rate, 0.08, 1e-12)
	near(t, "from", a.Now.Interval[0], 0.022691, 1e-6)
	near(t, "to", a.Now.Interval[1], 0.168659, 1e-6)
	near(t, "counts alone, from", a.Seen.Interval[0], 0.015742, 1e-6)
	near(t, "counts alone, to", a.Seen.Interval[1], 0.203865, 1e-6)
	if a.Seen.Below != nil || a.Seen.Would != nil {
		t.Error("a visit with finds is told like one without")
	}

	a, err = AnswerEffort(EffortQuestion{Belief: mine, Confidence: 0.95, Checked: 40})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "below, after 0 of 40", *a.Seen.Below, 0.072158, 1e-6)
	near(t, "would have shown one", *a.Seen.Would, 1-math.Pow(37.0/40, 40), 1e-12)
	// Beta(3,37): no find in 40 has chance B(3,77)/B(3,37) = 37·38·39 / (77·78·79).
	near(t, "the same, doubt counted", *a.Seen.WouldDoubtful, 1-37.0*38*39/(77*78*79), 1e-9)
	near(t, "rate after", a.Now.Rate, 3.0/80, 1e-12)

	sure, err := BeliefOfRate("7.5%", 0)
	if err != nil {
		t.Fatal(err)
	}
	a, err = AnswerEffort(EffortQuestion{Belief: sure, Confidence: 0.975, Checked: 40})
	if err != nil {
		t.Fatal(err)
	}
	if a.Now.Beta != nil || a.Seen.WouldDoubtful != nil || a.Seen.BelowBelieved != nil || a.Trees.Uncertain != nil || len(a.Table) != 6 || a.Now.Rate != 0.075 {
		t.Errorf("a rate without doubt: %+v", a)
	}
}

func TestAnswerEffortRefuses(t *testing.T) {
	b := HitBelief{Rate: 0.1}
	for _, c := range []struct {
		q    EffortQuestion
		want string
	}{
		{EffortQuestion{b, 0.95, -4, 0}, "expected 1 to 1000000 trees looked at, found -4"},
		{EffortQuestion{b, 0.95, 1 << 30, 0}, "expected 1 to 1000000 trees looked at"},
		{EffortQuestion{b, 0.95, 10, 11}, "expected 0 to 10 finds in 10 trees, found 11; count trees, not clusters"},
		{EffortQuestion{b, 0.95, 10, -1}, "expected 0 to 10 finds in 10 trees, found -1"},
		{EffortQuestion{b, 1, 10, 1}, "expected a chance from 1% to 99.99%, found 1"},
		{EffortQuestion{HitBelief{}, 0.95, 10, 1}, "expected a rate between 0 and 1, found 0"},
		{EffortQuestion{HitBelief{Rate: math.NaN()}, 0.95, 10, 1}, "expected a rate between 0 and 1, found NaN"},
	} {
		if _, err := AnswerEffort(c.q); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %s", c.q, err, c.want)
		}
	}
}

// Intervals and chances against scipy.stats: beta, betabinom and the exact
// interval of binomtest.
func TestAnswerEffortAgainstSciPy(t *testing.T) {
	const script = `
import json, sys
from scipy.stats import beta, betabinom, binomtest
out = []
for a, b, n, x, c in json.load(sys.stdin):
    n, x = int(n), int(x)
    law = beta(a + x, b + n - x)
    ci = binomtest(x, n).proportion_ci(c, method="exact")
    out.append([law.ppf((1 - c) / 2), law.isf((1 - c) / 2), ci.low, ci.high, 1 - betabinom(n, a, b).pmf(0)])
print(json.dumps(out))
`
	random := rand.New(rand.NewPCG(3, 40))
	var asked [][5]float64
	for range 60 {
		n := 1 + random.IntN(300)
		x := 0
		if random.IntN(2) > 0 {
			x = random.IntN(n + 1)
		}
		asked = append(asked, [5]float64{0.05 + 10*random.Float64(), 0.5 + 100*random.Float64(), float64(n), float64(x), 0.5 + 0.49*random.Float64()})
	}
	var want [][5]float64
	askSciPy(t, script, asked, &want)
	if len(want) != len(asked) {
		t.Fatalf("%d answers to %d questions", len(want), len(asked))
	}
	for i, q := range asked {
		d := Beta{q[0], q[1]}
		a, err := AnswerEffort(EffortQuestion{HitBelief{Rate: d.Mean(), Beta: d}, q[4], int(q[2]), int(q[3])})
		if err != nil {
			t.Fatal(err)
		}
		got := [5]float64{a.Now.Interval[0], a.Now.Interval[1], a.Seen.Interval[0], a.Seen.Interval[1], d.ChanceOfFind(int(q[2]))}
		for k, w := range want[i] {
			if math.Abs(got[k]-w) > 1e-8 {
				t.Errorf("%v: figure %d is %.10g, want %.10g", q, k, got[k], w)
			}
		}
	}
}

// More finds never lower a rate, more trees without one never raise it, and
// the words fit the screen.
func TestAnswerEffortProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := rapid.Float64Range(1e-4, 0.9).Draw(r, "rate")
		w := rapid.Float64Range(0.1, 500).Draw(r, "weight")
		n := rapid.IntRange(1, 400).Draw(r, "trees")
		x := rapid.IntRange(0, n).Draw(r, "finds")
		ask := func(n, x int) *EffortAnswer {
			a, err := AnswerEffort(EffortQuestion{HitBelief{Of: "elm", Rate: p, Beta: Beta{w * p, w * (1 - p)}}, 0.9, n, x})
			if err != nil {
				r.Fatal(err)
			}
			return a
		}
		a := ask(n, x)
		if x < n && ask(n, x+1).Now.Rate <= a.Now.Rate {
			r.Fatalf("one find more does not raise the rate %g", a.Now.Rate)
		}
		if ask(n+1, x).Now.Rate >= a.Now.Rate {
			r.Fatalf("one tree more without a find does not lower the rate %g", a.Now.Rate)
		}
		last := 0
		for _, row := range a.Table {
			n := MaxTrees + 1 // out of reach, and so must the rows below be
			if row.Fixed != nil {
				n = *row.Fixed
			}
			if n < last {
				r.Fatalf("rows do not rise: %d after %d trees", n, last)
			}
			last = n
		}
		for line := range strings.Lines(a.Text()) {
			if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) > 80 || strings.TrimRight(line, " \n")+"\n" != line || strings.HasPrefix(line, "%") {
				r.Fatalf("line too wide or ragged: %q", line)
			}
		}
	})
}

func TestPercent(t *testing.T) {
	for p, want := range map[float64]string{
		0: "0 %", 1e-7: "next to 0 %", 0.00075: "0.075 %", 0.072158: "7.2 %", 0.022691: "2.3 %", 0.08: "8 %", 0.0994: "9.9 %",
		0.168659: "16.9 %", 0.95: "95 %", 0.99997: "over 99.9 %", 1: "100 %", 0.5: "50 %",
	} {
		if got := percent(p); got != want {
			t.Errorf("%g: got %q, want %q", p, got, want)
		}
	}
	if got := percentAsGiven(0.975); got != "97.5 %" {
		t.Errorf("got %q", got)
	}
}
