package habitat

import (
	"encoding/json"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rillwood/habitat/field"
)

// notebook makes rows of trees, one a cell from the first cell on, with ids.
func (c *studyCounty) notebook(host string, first, n int, day time.Time) []field.Record {
	var out []field.Record
	for i := range n {
		at := c.lonlat[first+i]
		out = append(out, field.Record{Date: day, Lon: at[0], Lat: at[1], Host: host, Condition: field.DeadStanding, Inspected: 6, Found: i % 3})
	}
	field.Identify(out)
	return out
}

func mustLearn(t *testing.T, c *studyCounty, p *Profile, recs []field.Record) *Learned {
	t.Helper()
	l, err := LearnFromRecords(t.Context(), c.run, p, recs, LearnOptions{})
	if err != nil {
		t.Fatal(err)
	}
	data, err := l.Profile.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if l.Profile, err = ParseProfile("learned.yaml", data); err != nil {
		t.Fatal(err)
	}
	return l
}

// What was learned once is not learned again, whatever it taught; what comes
// late, or lay outside the map, is.
func TestLearnInTurn(t *testing.T) {
	c := newStudyCounty(t, 200)
	day := time.Date(2024, 12, 7, 0, 0, 0, 0, time.UTC)
	maples := c.notebook("silver-maple", 0, 40, day) // no word of bottomland in them
	first := mustLearn(t, c, c.p, maples)
	if first.Used != 40 || first.Stops != 0 || first.Profile.Posterior == nil || first.Profile.Posterior.Until != "2024-12-07" {
		t.Fatalf("used %d, stops %d, posterior %+v", first.Used, first.Stops, first.Profile.Posterior)
	}
	again := mustLearn(t, c, first.Profile, maples)
	if again.Used != 0 || again.Trees != 0 {
		t.Errorf("%d records with %d trees were learned twice: %q", again.Used, again.Trees, again.Left)
	}
	// The same day by another, typed in later, and the day before.
	late := c.notebook("american-elm", 60, 15, day)
	late = append(late, c.notebook("american-elm", 90, 15, day.AddDate(0, 0, -1))...)
	far := c.notebook("american-elm", 120, 2, day)
	for i := range far {
		far[i].Lat += 3
	}
	all := slices.Concat(maples, late, far)
	second := mustLearn(t, c, first.Profile, all)
	if second.Used != 30 || second.Profile.Posterior.Records != 70 || second.Profile.Posterior.Until != "2024-12-07" {
		t.Errorf("used %d of 30, %+v", second.Used, second.Profile.Posterior)
	}
	// On a map that holds them, those from outside it count.
	for i := range far {
		far[i].Lat -= 3
	}
	third := mustLearn(t, c, second.Profile, slices.Concat(maples, late, far))
	if third.Used != 2 {
		t.Errorf("used %d of 2 that lay outside the map: %q", third.Used, third.Left)
	}
	// A profile without the list goes by the day alone.
	old := *second.Profile
	old.Posterior = &Posterior{Weights: WeightNames(), Covariance: second.Profile.Posterior.Covariance, Records: 70, Until: "2024-12-07"}
	next := mustLearn(t, c, &old, append(c.notebook("american-elm", 150, 3, day.AddDate(0, 0, 1)), far...))
	if next.Used != 3 || next.Profile.Posterior.Seen != "" || next.Profile.Posterior.Until != "2024-12-08" || next.Profile.Posterior.Records != 73 {
		t.Errorf("used %d of 3, %+v", next.Used, next.Profile.Posterior)
	}
	if _, err := json.Marshal(third); err != nil {
		t.Error(err)
	}
}

// What a first notebook taught of rates by ground is where the second starts.
func TestLearnKeepsRateByBottomland(t *testing.T) {
	c := newStudyCounty(t, 200)
	p := cloneProfile(c.p)
	p.RateByBottomland = Weight{Value: 0.8, SD: 0.05}
	day := time.Date(2024, 12, 7, 0, 0, 0, 0, time.UTC)
	l := mustLearn(t, c, p, c.notebook("american-elm", 0, 3, day))
	if g := l.Profile.RateByBottomland; g.Value < 0.75 || g.Value > 0.85 || g.SD > 0.0501 {
		t.Errorf("18 trees moved a slope of 0.8 ± 0.05 to %g ± %g", g.Value, g.SD)
	}
}

// Every row is used or said to be left out; rows of another kin are not said to
// tell of bottomland.
func TestLearnSaysWhatIsLeftOut(t *testing.T) {
	c := newStudyCounty(t, 200)
	summer := time.Date(2024, 7, 9, 0, 0, 0, 0, time.UTC)
	recs := c.notebook("silver-maple", 0, 4, summer)
	recs = append(recs, c.notebook("", 10, 1, summer)...)
	none := c.notebook("silver-maple", 20, 1, summer)
	none[0].Inspected, none[0].Found = 0, 0
	recs = append(recs, none...)
	l := mustLearn(t, c, c.p, recs)
	text := strings.Join(l.Left, "\n")
	for _, want := range []string{"4: out of season (they count for nothing: only elm trees", "1: host not told", "1: no tree of a host looked for"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in %q", want, text)
		}
	}
	if l.Used != 0 {
		t.Errorf("%d used", l.Used)
	}
}

// Twenty trees of one stop tell once that elms stand there, and a stop that met
// one has not missed them; two places with one name are two.
func TestStopIsOneLook(t *testing.T) {
	c := newStudyCounty(t, 200)
	f := c.run.Frame
	day := time.Date(2024, 12, 7, 0, 0, 0, 0, time.UTC)
	at := func(x, y int, stop string, met bool) sighting {
		return sighting{field.Record{Date: day, Stop: stop}, Terms{Cell: y*f.W + x}, met}
	}
	near := int(40 / f.Cell)
	rows := []sighting{at(100, 100, "a", false)}
	for i := range 20 {
		rows = append(rows, at(100+i%(near+1), 100, "a", true))
	}
	rows = append(rows, at(20, 20, "a", false), at(150, 20, "b", false), at(150, 20, "c", true), at(160, 160, "d", false))
	for range 2 {
		stops := stopsOf(c.run, slices.Clone(rows))
		var yes, no []int
		for _, s := range stops {
			if s.yes == 1 && s.no == 0 {
				yes = append(yes, s.cell)
			} else if s.no == 1 && s.yes == 0 {
				no = append(no, s.cell)
			}
		}
		if want := []int{20*f.W + 150, 100*f.W + 100}; !slices.Equal(yes, want) {
			t.Errorf("met in cells %v, want %v", yes, want)
		}
		if want := []int{20*f.W + 20, 160*f.W + 160}; !slices.Equal(no, want) {
			t.Errorf("missed in cells %v, want %v", no, want)
		}
		slices.Reverse(rows)
	}
}

// A run that judged by flatness or evidence is refused without those layers:
// the log-odds it saw cannot be told.
func TestLearnNeedsWhatTheRunJudgedBy(t *testing.T) {
	r := openRun(t, madeRun(t, 60, 60, hillLayers(), nil, func(rec *Record) { rec.Survey.Evidence.ValleyFlatness = true }))
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := LearnFromRecords(t.Context(), r, p, nil, LearnOptions{}); err == nil || !strings.Contains(err.Error(), "no layer valley-flatness; add it to output.layers") {
		t.Errorf("got %v", err)
	}
}

// A profile with the weights of the run and other hit rates is not the run's.
func TestRunProfileWithOtherRates(t *testing.T) {
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	r := openRun(t, madeRun(t, 60, 60, hillLayers(), nil, func(rec *Record) {
		rec.Profile.HitRates, rec.Profile.ByBottomland = recordRates(p), p.RateByBottomland
	}))
	if _, err := r.LoadProfile(""); err != nil {
		t.Error(err)
	}
	p.Hosts[0].HitRate.Weight++
	file := filepath.Join(t.TempDir(), "other.yaml")
	if err := p.Write(file); err != nil {
		t.Fatal(err)
	}
	if _, err := r.LoadProfile(file); err == nil || !strings.Contains(err.Error(), "its hit rates are not those") {
		t.Errorf("got %v", err)
	}
}

// Fitting to a layer does not forget which records were learned from.
func TestRefitKeepsWhatWasLearned(t *testing.T) {
	base, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	cov := base.weightCovariance(false)
	base.Posterior = &Posterior{Weights: WeightNames(), Covariance: rowsOf(cov), Records: 3, Until: "2025-01-02", Seen: "00000001 0123abcd"}
	f := &Refitted{}
	for i, w := range base.Bottomland.weights(false) {
		f.Weights = append(f.Weights, RefitWeight{Name: WeightNames()[i], After: w.Value, SD: w.SD})
	}
	p, err := f.newProfile(base, cov)
	if err != nil {
		t.Fatal(err)
	}
	if p.Posterior.Until != "2025-01-02" || p.Posterior.Seen != base.Posterior.Seen {
		t.Errorf("after the fit: %+v", p.Posterior)
	}
}

// No patch leaves the list but for those that teach.
func TestListWithPicked(t *testing.T) {
	for _, c := range []struct {
		n, best, top, looked int
		pick                 []int
		want                 string
	}{
		{6, 3, 5, 6, []int{5, 4}, "01254"},
		{6, 3, 5, 6, []int{4}, "01234"},
		{6, 3, 5, 6, nil, "01234"},
		{5, 1, 5, 5, []int{2, 1}, "03421"},
		{8, 1, 8, 3, []int{2}, "01345672"},
		{4, 0, 4, 4, []int{3, 2, 1, 0}, "3210"},
	} {
		var all []Candidate
		for i := range c.n {
			all = append(all, Candidate{Rank: i})
		}
		rest := slices.Clone(all[c.best:min(c.n, c.best+c.looked)])
		var picked []Candidate
		for _, i := range c.pick {
			rest[i-c.best].Learning = true
			picked = append(picked, rest[i-c.best])
		}
		got := ""
		for _, l := range withPicked(all, c.best, c.top, rest, picked) {
			got += string(rune('0' + l.Rank))
		}
		if got != c.want {
			t.Errorf("%+v: %s", c, got)
		}
	}
}
