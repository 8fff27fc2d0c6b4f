package habitat

import (
	"strings"
	"testing"
)

func TestCautions(t *testing.T) {
	p := builtin(t)
	all := Cautions(p)
	if !strings.HasPrefix(all[0].Text, "A map says where to look, never what is safe to eat.") {
		t.Errorf("first caution: %s", all[0].Text)
	}
	seen := map[string]bool{}
	for _, c := range all {
		if seen[c.Key] || c.Key == "" || c.Title == "" {
			t.Errorf("caution %q has no key or title of its own", c.Key)
		}
		seen[c.Key] = true
		if n := strings.Count(c.Text, ". ") + 1; n > 2 || !strings.HasSuffix(c.Text, ".") {
			t.Errorf("%s: %d sentences", c.Key, n)
		}
	}
	for _, key := range []string{"map", "lookalike", "print", "poison", "snags", "water", "cold", "hunting", "access", "ground", "wood"} {
		if !seen[key] {
			t.Errorf("no caution about %s", key)
		}
	}
	short := ShortCautions(p)
	if len(short) == 0 || len(short) >= len(all) || short[0].Key != "map" {
		t.Errorf("short list of %d starts with %v", len(short), short)
	}
	keys := map[string]bool{}
	for _, c := range short {
		keys[c.Key] = true
	}
	if !keys["lookalike"] || !keys["poison"] {
		t.Error("the short list leaves out the deadly ones")
	}
}

// The numbers to call are those of the profile.
func TestCautionsNameThePoisonLine(t *testing.T) {
	p := builtin(t)
	text := func() string {
		var b strings.Builder
		for _, c := range ShortCautions(p) {
			b.WriteString(c.Text)
		}
		return b.String()
	}
	if !strings.Contains(text(), "1-800-222-1222") || !strings.Contains(text(), "911") {
		t.Errorf("the US numbers are missing from: %s", text())
	}
	p.Help = Help{PoisonLine: "0000 111", Emergency: "112"}
	if got := text(); !strings.Contains(got, "Call 0000 111 or 112 at once") || strings.Contains(got, "222") {
		t.Errorf("other numbers: %s", got)
	}
}
