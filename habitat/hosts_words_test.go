package habitat

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWhy(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		in   Reasons
		want string
	}{
		{"a good bottom", Reasons{0.8, 1, 0.9, WoodedWetland, "Otter Creek", 120, 45, 3.4, "American elm", LimitNone, 39, false},
			"Flat ground under wet woods, about 0.8 m above Otter Creek and 120 m from it. About 45 dead or dying host trees are expected, American elm first, enough for a good chance of one find (39 to check)."},
		{"a small one on the bank", Reasons{0.2, 4, 0.8, Broadleaf, "", 12, 1.2, 0.1, "American elm", LimitNone, 39, false},
			"Gently sloping ground under broadleaf woods, level with the nearest stream and right beside it. About 1 dead or dying host tree is expected, American elm first, too few for a good chance of one find (39 to check)."},
		{"many dead trees, few of them elms", Reasons{1, 1, 0.9, Broadleaf, "Mill Run", 60, 120, 1.6, "American elm", LimitNone, 39, true},
			"Flat ground under broadleaf woods, about 1.0 m above Mill Run and 60 m from it. About 120 dead or dying host trees are expected, American elm first, too few for a good chance of one find (39 to check)."},
		{"a pasture", Reasons{3.14, 9, 0.5, Pasture, "Mill Run", 1830, 0.2, 0, "slippery elm", LimitHosts, 49, false},
			"Sloping ground, mapped as pasture, about 3.1 m above Mill Run and 1.8 km from it. Hardly a dead host tree is expected (slippery elm first); it is held back by cover that bears few host trees."},
		{"little known", Reasons{nan, nan, nan, "", "", nan, nan, nan, "", LimitBottomland, 0, false},
			"Ground near the nearest stream. How many dead trees it holds is not known; look for host trees first; it is held back by ground less surely a bottomland than the best."},
		{"no land cover", Reasons{12, 1, 0.7, Unknown, "Mill Run", 54.6, 8, 1, "boxelder", LimitCover, 0, false},
			"Flat ground, about 12 m above Mill Run and 55 m from it. About 8 dead or dying host trees are expected, boxelder first; it is held back by ground that is hard to scout."},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Why(c.in); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// Whatever the numbers: two sentences, no doubled signs, no NaN.
func TestWhyIsAlwaysTwoSentences(t *testing.T) {
	number := rapid.OneOf(rapid.Float64Range(0, 1e5), rapid.Just(math.NaN()))
	rapid.Check(t, func(r *rapid.T) {
		got := Why(Reasons{
			HeightM: number.Draw(r, "height"), SlopePct: number.Draw(r, "slope"), StreamM: number.Draw(r, "distance"), Dead: number.Draw(r, "dead"),
			Cover:  rapid.SampledFrom(append(CoverGroups(), "")).Draw(r, "cover"),
			Stream: rapid.SampledFrom([]string{"", "Otter Creek"}).Draw(r, "stream"),
			Host:   rapid.SampledFrom([]string{"", "American elm"}).Draw(r, "host"),
			Limit:  Limit(rapid.IntRange(0, 3).Draw(r, "limit")), TreesFor95: rapid.IntRange(0, 60).Draw(r, "trees"),
		})
		if strings.Count(got, ". ") != 1 || !strings.HasSuffix(got, ".") {
			r.Fatalf("not two sentences: %s", got)
		}
		for _, bad := range []string{"NaN", ",,", "  ", "..", " ,", ", and"} {
			if strings.Contains(got, bad) {
				r.Fatalf("%q in: %s", bad, got)
			}
		}
	})
}
