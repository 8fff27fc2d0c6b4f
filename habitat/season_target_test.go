package habitat

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func target(t testing.TB, name string) *SeasonTarget {
	t.Helper()
	got, err := LoadTarget(name)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Every built-in target fits the built-in profile, tells its sources, warns of
// look-alikes of its own, and makes a profile that comes back from its file.
func TestBuiltinTargets(t *testing.T) {
	p := builtin(t)
	texts := map[string]string{p.lookalikes().Text: p.Name}
	for _, name := range TargetNames() {
		tg := target(t, name)
		if tg.Name != name {
			t.Errorf("target %s calls itself %s", name, tg.Name)
		}
		if other := texts[tg.Lookalikes.Text]; other != "" {
			t.Errorf("%s warns of the look-alikes of %s", name, other)
		}
		texts[tg.Lookalikes.Text] = name
		for what, source := range map[string]string{"target": tg.Target.Source, "look-alikes": tg.Lookalikes.Source} {
			if source == "" {
				t.Errorf("%s: the %s has no source", name, what)
			}
		}
		for _, c := range tg.OwnCautions {
			if c.Source == "" {
				t.Errorf("%s: caution %s has no source", name, c.Key)
			}
		}
		if tg.Season == nil {
			t.Errorf("%s has no rule for good days", name)
		}
		for _, h := range tg.Hosts {
			if h.HitRate.Source == "" || h.DeadShare != nil && h.Source == "" {
				t.Errorf("%s: %s has a figure without a source", name, h.ID)
			}
		}
		q, err := p.For(tg)
		if err != nil {
			t.Fatal(err)
		}
		data, err := q.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := ParseProfile("again", data)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(q, back); d != "" {
			t.Errorf("%s came back changed (-was +is):\n%s", name, d)
		}
	}
}

// A target changes what is looked for and what trees are worth, and nothing
// of the ground; no common caution is lost.
func TestTargetLeavesTheGroundAlone(t *testing.T) {
	p := builtin(t)
	was := cloneProfile(p)
	tg := target(t, "spring-morels")
	q, err := p.For(tg)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(was, p); d != "" {
		t.Errorf("the profile itself was changed:\n%s", d)
	}
	for name, same := range map[string]bool{
		"bottomland": cmp.Equal(p.Bottomland, q.Bottomland), "curves": cmp.Equal(p.Curves, q.Curves), "cover": cmp.Equal(p.Cover, q.Cover),
		"suitability": p.Suitability == q.Suitability, "density_cv": p.DensityCV == q.DensityCV, "help": p.Help == q.Help,
	} {
		if !same {
			t.Errorf("%s is not that of the profile", name)
		}
	}
	if len(q.Hosts) != len(tg.Hosts) {
		t.Errorf("%d hosts, the target names %d", len(q.Hosts), len(tg.Hosts))
	}
	for i, h := range q.Hosts {
		k := slices.IndexFunc(p.Hosts, func(o Host) bool { return o.ID == h.ID })
		if h.DensityHa != p.Hosts[k].DensityHa || !cmp.Equal(h.Bottomland, p.Hosts[k].Bottomland) || !cmp.Equal(h.Cover, p.Hosts[k].Cover) {
			t.Errorf("%s: where it stands was changed", h.ID)
		}
		if h.HitRate != tg.Hosts[i].HitRate || h.DeadShare != *tg.Hosts[i].DeadShare {
			t.Errorf("%s: got rate %v and dead share %g", h.ID, h.HitRate, h.DeadShare)
		}
		// Measured dead trees count in the same proportion as expected ones.
		near(t, h.ID+" of the dead", h.OfDead*p.Hosts[k].DeadShare, h.DeadShare, 1e-12)
	}
	var keys []string
	for _, c := range Cautions(q) {
		keys = append(keys, c.Key)
		if strings.Contains(c.Text, "Flammulina") {
			t.Errorf("%s speaks of the other target: %s", c.Key, c.Text)
		}
	}
	for _, key := range append(commonKeys, "orchards", "ticks") {
		if !slices.Contains(keys, key) {
			t.Errorf("no caution about %s", key)
		}
	}
	for _, c := range ShortCautions(q) {
		if c.Key == "lookalike" && strings.Contains(c.Text, "Gyromitra has killed") {
			return
		}
	}
	t.Error("the short list does not warn of false morels")
}

// A target in a file, and what is wrong with one: one line, with its place.
func TestTargetFiles(t *testing.T) {
	good, err := targetFiles.ReadFile("data/target-dryad-saddle.yaml")
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "mine.yaml")
	if err := os.WriteFile(file, good, 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := LoadTarget(file); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ name, from, to, want string }{
		{"no look-alikes", "lookalikes:", "lookalikes_gone:", `lookalikes_gone`},
		{"look-alikes that say nothing", `  text: "Deadly`, `  text: "x" #`, `lookalikes.text: expected 60 to 600 characters, found 1`},
		{"a caution of a taken name", "key: ticks", "key: lookalike", `cautions[0].key: a caution called lookalike is there already`},
		{"a month twice", "months: [4, 5, 6, 9]", "months: [4, 4]", `target.months: month 4 is listed twice`},
		{"a host twice", "id: slippery-elm", "id: american-elm", `hosts[1].id: a host called american-elm is there already`},
		{"a rate of nought", "hits: 4,", "hits: 0,", `hosts[0].hit_rate.hits`},
		{"a bad name", "name: dryad-saddle", `name: "Dryad Saddle"`, `name: expected a short name`},
		{"a season outside its months", "months: [4, 5, 6, 9]\n  mild", "months: [4, 5, 6, 10]\n  mild", `season.months: month 10 is not among target.months`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(string(good), tt.from, tt.to, 1)
			if text == string(good) {
				t.Fatal("nothing was changed")
			}
			_, err := ParseTarget("mine.yaml", []byte(text))
			if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "mine.yaml") || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v, want %s", err, tt.want)
			}
		})
	}
	if _, err := LoadTarget("spring-morel"); err == nil || !strings.Contains(err.Error(), "spring-morels") {
		t.Errorf("a slip of the pen: %v", err)
	}
	tg := target(t, "oysters")
	tg.Hosts = append(tg.Hosts, TargetHost{ID: "tulip-tree", HitRate: HitRate{Hits: 1, Of: 40, Weight: 10}})
	if _, err := builtin(t).For(tg); err == nil || !strings.Contains(err.Error(), `has no host "tulip-tree"; add it there`) {
		t.Errorf("a host the ground lacks: %v", err)
	}
}

// Older profiles have no look-alikes: those of the first target hold for it,
// and no other target goes without.
func TestProfileWithoutLookalikes(t *testing.T) {
	p := builtin(t)
	p.Lookalikes = nil
	if err := p.Validate(); err != nil {
		t.Fatal(err)
	}
	if got, want := p.lookalikes().Text, builtin(t).lookalikes().Text; got != want {
		t.Errorf("the words in code and in the profile differ:\n%s\n%s", got, want)
	}
	p.Target.Scientific = "Morchella"
	if err := p.Validate(); err == nil || !strings.Contains(err.Error(), "lookalikes: missing") {
		t.Errorf("another target without look-alikes: %v", err)
	}
}
