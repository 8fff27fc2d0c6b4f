package habitat

import (
	"strings"
	"testing"
)

// The mean of a very skewed rate lies above what the rate is nearly surely
// below; the text must not leave the two side by side unexplained.
func TestSkewedRatesAreExplained(t *testing.T) {
	b := HitBelief{Of: "a rare host", Rate: 0.001, Beta: Beta{A: 0.01, B: 9.99}}
	a, err := AnswerEffort(EffortQuestion{Belief: b, Confidence: 0.95, Checked: 10})
	if err != nil {
		t.Fatal(err)
	}
	if a.Now.Rate < *a.Seen.BelowBelieved {
		t.Fatalf("rate %g, below %g: the case is not sharp", a.Now.Rate, *a.Seen.BelowBelieved)
	}
	text := strings.Join(strings.Fields(a.Text()), " ")
	want := "the rate is now 0.05 % as a mean, which a small chance of a far higher rate lifts (its median is next to 0 %), 95 % sure below"
	if !strings.Contains(text, want) {
		t.Errorf("got %q, want %q", text, want)
	}
	plain, err := AnswerEffort(EffortQuestion{Belief: HitBelief{Of: "a host", Rate: 0.1, Beta: Beta{A: 4, B: 36}}, Confidence: 0.95, Checked: 10})
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(plain.Text(), "as a mean") {
		t.Errorf("an ordinary rate is explained away: %q", plain.Text())
	}
}
