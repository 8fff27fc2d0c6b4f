package habitat

import (
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

const (
	elmClause      = "buttressed base, vase-shaped crown, bent brown buds set askew"
	slipperyClause = "rough grey twigs, dark buds with rusty hairs"
)

func TestWhy(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		in   Reasons
		want string
	}{
		{"a good bottom", Reasons{HeightM: 0.8, SlopePct: 1, Bottomland: 0.9, Cover: WoodedWetland, Stream: "Otter Creek", StreamM: 120, Dead: 45, Finds: 3.4, TreesFor95: 39,
			Host: "American elm", Winter: elmClause, Second: "slippery elm", SecondWinter: slipperyClause},
			"Flat ground under wet woods, about 0.8 m above Otter Creek and 120 m from it, is expected to hold about 45 dead or dying host trees, enough for a 95 % chance of one find (39 to check). " +
				"Look first for dead American elm: " + elmClause + "; then slippery elm: " + slipperyClause + "."},
		{"other layers agree", Reasons{HeightM: 0.2, SlopePct: 4, Cover: Broadleaf, StreamM: 12, Dead: 1.2, TreesFor95: 39, Host: "American elm",
			Evidence: []string{"soil survey: occasional flooding.", "inside the mapped flood zone AE", "a third"}},
			"Gently sloping ground under broadleaf woods, level with the nearest stream and right beside it (soil survey: occasional flooding; inside the mapped flood zone AE), is expected to hold about 1 dead or dying host tree, too few for a 95 % chance of one find (39 to check). Look first for dead American elm."},
		{"many dead trees, few of them elms", Reasons{HeightM: 1, SlopePct: 1, Cover: Broadleaf, Stream: "Mill Run", StreamM: 60, Dead: 120, TreesFor95: 39, Short: true,
			Host: "American elm", Second: "green ash"},
			"Flat ground under broadleaf woods, about 1.0 m above Mill Run and 60 m from it, is expected to hold about 120 dead or dying host trees, too few of the likeliest kind for a 95 % chance of one find (39 to check). Look first for dead American elm, then for green ash."},
		{"as many as it takes, rounded", Reasons{HeightM: nan, SlopePct: 1, Cover: Broadleaf, Stream: "Mill Run", StreamM: 60, Dead: 38.45, TreesFor95: 39, Host: "American elm", Winter: elmClause, Second: "green ash"},
			"Flat ground under broadleaf woods, 60 m from Mill Run, is expected to hold about 38 dead or dying host trees, just enough for a 95 % chance of one find (39 to check). Look first for dead American elm: " + elmClause + "; then green ash."},
		{"a pasture", Reasons{HeightM: 3.14, SlopePct: 9, Cover: Pasture, Stream: "Mill Run", StreamM: 1830, Dead: 0.2, TreesFor95: 49, Host: "slippery elm", Limit: LimitHosts},
			"Sloping ground, mapped as pasture, about 3.1 m above Mill Run and 1.8 km from it, is expected to hold hardly a dead host tree; it is held back by cover that bears few host trees. Look first for dead slippery elm."},
		{"little known", Reasons{HeightM: nan, SlopePct: nan, StreamM: nan, Dead: nan, Limit: LimitBottomland},
			"Ground near the nearest stream may hold host trees, but how many dead ones is not known; it is held back by ground less surely a bottomland than the best. Look first for dead or dying trees of any host."},
		{"no land cover", Reasons{HeightM: 12, SlopePct: 1, Cover: Unknown, Stream: "Mill Run", StreamM: 54.6, Dead: 8, Host: "boxelder", Limit: LimitCover},
			"Flat ground, about 12 m above Mill Run and 55 m from it, is expected to hold about 8 dead or dying host trees; it is held back by ground that is hard to scout. Look first for dead boxelder."},
		{"names with marks", Reasons{HeightM: 0, SlopePct: 1, Stream: " St. Anne's\tBranch,", StreamM: 5, Dead: 0, Host: "", Second: "elm.", SecondWinter: "bark ridged; buds  askew. "},
			"Flat ground, level with St. Anne's Branch and right beside it, is expected to hold hardly a dead host tree. Look first for dead elm: bark ridged, buds askew."},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Why(c.in); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// Where the room is short, what is left out goes in the declared order.
func TestWhyLeavesOutTheLesserFacts(t *testing.T) {
	r := Reasons{HeightM: 0.8, SlopePct: 4, Cover: WoodedWetland, Stream: "Otter Creek", StreamM: 120, Dead: 45, TreesFor95: 39, Short: true,
		Host: "American elm", Winter: strings.Repeat("a", maxWinter), Second: "slippery elm", SecondWinter: strings.Repeat("b", shortWinter), Evidence: []string{"soil survey: floods in most years"}}
	for _, c := range []struct {
		name      string
		limit     Limit
		evidence  []string
		has, lost []string
	}{
		{"the second clause", LimitNone, nil, []string{"aaa", "soil survey", "then slippery elm."}, []string{"bbb"}},
		{"the second layer too", LimitNone, []string{"inside the mapped flood zone AE"}, []string{"aaa", "soil survey", "then slippery elm."}, []string{"bbb", "zone AE"}},
		{"the second host too", LimitCover, []string{"inside the mapped flood zone AE"}, []string{"aaa", "held back", "soil survey"}, []string{"bbb", "zone AE", "slippery"}},
		{"all layers too", LimitBottomland, []string{"inside the mapped flood zone AE"}, []string{"aaa", "held back"}, []string{"bbb", "zone AE", "slippery", "soil survey"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := r
			in.Limit, in.Evidence = c.limit, append(append([]string{}, r.Evidence...), c.evidence...)
			got := Why(in)
			for _, w := range c.has {
				if !strings.Contains(got, w) {
					t.Errorf("%q is missing: %s", w, got)
				}
			}
			for _, w := range c.lost {
				if strings.Contains(got, w) {
					t.Errorf("%q is told: %s", w, got)
				}
			}
		})
	}
	r.SecondWinter, r.Evidence, r.Winter = strings.Repeat("b", shortWinter+1), nil, "bark"
	if got := Why(r); strings.Contains(got, "bbb") {
		t.Errorf("a long clause of the second host is told: %s", got)
	}
}

// Whatever the numbers and the texts: two sentences, no doubled signs, no
// NaN, room for all. Names may hold full stops of their own, so they are
// taken out before sentences are counted.
func TestWhyIsAlwaysTwoSentences(t *testing.T) {
	number := rapid.OneOf(rapid.Float64Range(0, 1e5), rapid.Float64Range(0, 60), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 0}))
	name := rapid.OneOf(rapid.SampledFrom([]string{"", "Otter Creek", "American elm", strings.Repeat("Long ", 30)}), rapid.StringN(0, 60, -1))
	phrase := rapid.OneOf(rapid.SampledFrom([]string{"", "soil survey: occasional flooding", "one. Two; three!", elmClause}), rapid.StringN(0, 120, -1), rapid.StringMatching(`[a-c .,;:!?]{0,150}`))
	mask := strings.NewReplacer(".", "", "?", "", "!", "", ":", "", ",", "")
	rapid.Check(t, func(r *rapid.T) {
		in := Reasons{
			HeightM: number.Draw(r, "height"), SlopePct: number.Draw(r, "slope"), StreamM: number.Draw(r, "distance"), Dead: number.Draw(r, "dead"),
			Cover: rapid.SampledFrom(append(CoverGroups(), "")).Draw(r, "cover"), Stream: mask.Replace(name.Draw(r, "stream")),
			Host: mask.Replace(name.Draw(r, "host")), Winter: phrase.Draw(r, "winter"), Second: mask.Replace(name.Draw(r, "second")), SecondWinter: phrase.Draw(r, "second winter"),
			Evidence: rapid.SliceOfN(phrase, 0, 3).Draw(r, "evidence"), Short: rapid.Bool().Draw(r, "short"),
			Limit: Limit(rapid.IntRange(0, 3).Draw(r, "limit")), TreesFor95: rapid.IntRange(0, 60).Draw(r, "trees"),
		}
		got := Why(in)
		if strings.Count(got, ". ") != 1 || !strings.HasSuffix(got, ".") || !strings.Contains(got, ". Look first for dead ") {
			r.Fatalf("not two sentences: %s", got)
		}
		if n := utf8.RuneCountInString(got); n > maxWhy {
			r.Fatalf("%d characters: %s", n, got)
		}
		for _, bad := range []string{"NaN", "Inf", ",,", "  ", "..", " ,", " .", ",. Look", ";. Look", ":. Look", "(), ", "\n", "\x00", "! ", "? "} {
			if strings.Contains(got, bad) {
				r.Fatalf("%q in: %q", bad, got)
			}
		}
		if strings.ContainsAny(got[len(got)-2:len(got)-1], ",;:. ") {
			r.Fatalf("a mark before the last full stop: %s", got)
		}
		if strings.Count(got, "is expected to hold")+strings.Count(got, "may hold") != 1 {
			r.Fatalf("not one verb in the first sentence: %s", got)
		}
	})
}

func TestPlainClause(t *testing.T) {
	for in, want := range map[string]string{
		"":                           "",
		" . ":                        "",
		"bark ridged; buds askew.":   "bark ridged, buds askew",
		"twigs 3.5 mm thick":         "twigs 3.5 mm thick",
		"soil survey:\n\toccasional": "soil survey: occasional",
		"a,, b ,c..d.":               "a, b c.d",
	} {
		if got := plainClause(in); got != want {
			t.Errorf("%q: got %q, want %q", in, got, want)
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		once := plainClause(rapid.OneOf(rapid.String(), rapid.StringMatching(`[ab .,;:!?]{0,30}`)).Draw(r, "text"))
		if again := plainClause(once); again != once {
			r.Fatalf("%q becomes %q", once, again)
		}
	})
}
