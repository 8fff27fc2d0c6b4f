package habitat

import (
	"math"
	"strings"
	"testing"
)

func TestBeliefOfRate(t *testing.T) {
	for _, c := range []struct {
		text   string
		weight float64
		rate   float64
		beta   Beta
	}{
		{"3/40", 0, 0.075, Beta{3, 37}},
		{" 3 / 40 ", 0, 0.075, Beta{3, 37}},
		{"3/40", 20, 0.075, Beta{1.5, 18.5}},
		{"0.5/40", 0, 0.0125, Beta{0.5, 39.5}},
		{"1/10", 0, 0.1, Beta{1, 9}},
		{"0.075", 0, 0.075, Beta{}},
		{"7.5%", 0, 0.075, Beta{}},
		{"7.5 %", 40, 0.075, Beta{3, 37}},
		{".5", 0, 0.5, Beta{}},
	} {
		b, err := BeliefOfRate(c.text, c.weight)
		if err != nil || b.Rate != c.rate || math.Abs(b.Beta.A-c.beta.A) > 1e-12 || math.Abs(b.Beta.B-c.beta.B) > 1e-12 || b.Doubtful() != (c.beta.A > 0) {
			t.Errorf("%q, weight %g: got %+v, %v; want %g, %v", c.text, c.weight, b, err, c.rate, c.beta)
		}
	}
	for _, c := range []struct {
		text   string
		weight float64
		want   string
	}{
		{"three in forty", 0, `expected a count such as 3/40, a share such as 0.075, or 7.5%, found "three in forty"`},
		{"", 0, `found ""`},
		{"3/40/2", 0, `found "3/40/2"`},
		{"3/0", 0, `found "3/0"`},
		{"-3/40", 0, `found "-3/40"`},
		{"NaN/40", 0, `found "NaN/40"`},
		{"nan", 0, `found "nan"`},
		{"inf", 0, `found "inf"`},
		{"1e999", 0, `found "1e999"`},
		{"0/40", 0, `"0/40": a rate of nought calls for no end of trees; ask with --none what trees without a find tell`},
		{"40/40", 0, `expected a rate above 0 and below 1 by at least 1e-06, found "40/40"`},
		{"75", 0, `expected a rate above 0 and below 1 by at least 1e-06, found "75"`},
		{"-0.1", 0, `found "-0.1"`},
		{"1e-9", 0, `found "1e-9"`},
		{"3/40", -2, "a rate is believed as if 0.1 to 1000000 trees had been seen, found -2"},
		{"3/40", math.NaN(), "found NaN"},
		{"a\nb\x1b", 0, `found "a b\x1b"`},
	} {
		if _, err := BeliefOfRate(c.text, c.weight); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q, weight %g: got %v, want %s", c.text, c.weight, err, c.want)
		}
	}
}

func TestBeliefOfHost(t *testing.T) {
	p := builtin(t)
	first, err := BeliefOfHost(p, "")
	if err != nil || first.Rate != 0.075 || first.Beta != (Beta{1.5, 18.5}) || first.Of != "American elm, profile elm-bottoms" {
		t.Errorf("first host: %+v, %v", first, err)
	}
	if b, err := BeliefOfHost(p, "slippery-elm"); err != nil || math.Abs(b.Rate-0.06) > 1e-15 || b.Of != "slippery elm, profile elm-bottoms" {
		t.Errorf("slippery elm: %+v, %v", b, err)
	}
	if _, err := BeliefOfHost(p, "american-elms"); err == nil || err.Error() != `"american-elms" is no host of profile elm-bottoms; did you mean "american-elm"?` {
		t.Errorf("a slip: %v", err)
	}
}

func TestParseChance(t *testing.T) {
	for text, want := range map[string]float64{"95%": 0.95, "0.95": 0.95, " 95 % ": 0.95, "97.5%": 0.975, "1%": 0.01, "99.99%": 0.9999} {
		if got, err := ParseChance(text); err != nil || got != want {
			t.Errorf("%q: got %v, %v; want %g", text, got, err, want)
		}
	}
	for _, text := range []string{"95", "", "%", "0", "100%", "1", "-5%", "nan", "high"} {
		if got, err := ParseChance(text); err == nil || !strings.Contains(err.Error(), "expected a chance from 1% to 99.99%, such as 95% or 0.95, found ") {
			t.Errorf("%q: got %v, %v", text, got, err)
		}
	}
}

// Whatever is typed is refused in one line, or is a rate that can be
// answered.
func FuzzRate(f *testing.F) {
	for _, text := range []string{"3/40", "0.075", "7.5%", "0/40", "40/40", "1e-6", "0x1p-3", "1e6/1e6", "/", "%", "3/40%", "+.5", "1_0/4_0", "½"} {
		f.Add(text, 0.0, 40, 0)
	}
	f.Add("1/10", 0.0, 40, 3)
	f.Add("0.000001", 0.1, 1000000, 1000000)
	f.Fuzz(func(t *testing.T, text string, weight float64, checked, found int) {
		b, err := BeliefOfRate(text, weight)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\r\x00\x1b") {
				t.Fatalf("not one plain line: %q", err)
			}
			return
		}
		a, err := AnswerEffort(EffortQuestion{Belief: b, Confidence: 0.95, Checked: checked, Found: found})
		if err != nil {
			return
		}
		for _, r := range []EffortRate{a.Before, a.Now} {
			if !(r.Rate > 0 && r.Rate < 1) || r.Interval != nil && !(r.Interval[0] >= 0 && r.Interval[0] <= r.Interval[1] && r.Interval[1] <= 1) {
				t.Fatalf("%q, %g: %+v", text, weight, r)
			}
		}
		if s := a.Text(); strings.Contains(s, "NaN") || strings.Contains(s, "Inf") || !strings.HasSuffix(s, safetyLine+"\n") {
			t.Fatalf("%q, %g: %s", text, weight, s)
		}
	})
}
