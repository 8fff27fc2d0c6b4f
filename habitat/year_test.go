package habitat

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"rillwood/habitat/results"
	"rillwood/internal/terminal"
)

// What the planner works out for another target from the trees of the
// shortlist is what a map for that target says of the same patches.
func TestYearAgainstMapsOfTheTargets(t *testing.T) {
	s := inventedSurvey(t)
	s.Output.Preview, s.Output.Report = false, false
	base := mapped(t, s)
	year, err := PlanYear(base.Folder, "", TargetNames(), 3)
	if err != nil {
		t.Fatal(err)
	}
	run, err := results.Open(base.Folder)
	if err != nil {
		t.Fatal(err)
	}
	for k, name := range TargetNames() {
		other := *s
		other.Target = name
		other.Output.Folder = s.Output.Folder + "-" + name
		made, err := results.Open(mapped(t, &other).Folder)
		if err != nil {
			t.Fatal(err)
		}
		q, err := builtin(t).For(target(t, name))
		if err != nil {
			t.Fatal(err)
		}
		if made.Target.Common != q.Target.Common || made.Profile != q.Name {
			t.Errorf("the map is for %q by profile %s, want %q by %s", made.Target.Common, made.Profile, q.Target.Common, q.Name)
		}
		// A run for a target is opened with the profile it keeps.
		if own, err := openRun(t, made.Folder).LoadProfile(""); err != nil || own.Name != q.Name {
			t.Errorf("%s: the run's own profile: %v", name, err)
		}
		rounding := 0.05
		for i := range q.Hosts {
			rounding += 0.5 * q.Hosts[i].DeadShare * q.Hosts[i].HitRate.Hits / q.Hosts[i].HitRate.Of
		}
		same := 0
		for i := range run.Candidates {
			c := &run.Candidates[i]
			m := slices.IndexFunc(made.Candidates, func(o results.Candidate) bool {
				return o.AreaHa == c.AreaHa && o.Lon == c.Lon && o.Lat == c.Lat
			})
			if m < 0 {
				continue // drawn otherwise for this target
			}
			same++
			if got, want := year.Candidates[i].Finds[k+1], made.Candidates[m].Finds; math.Abs(got-want) > rounding+0.02*want {
				t.Errorf("%s, candidate %d: %g finds, its map says %g", name, c.Rank, got, want)
			}
		}
		if same < 3 {
			t.Errorf("%s: only %d patches are the same on both maps", name, same)
		}
	}
}

// The lists: in season only, most finds first, closed ground in none, ground
// whose owner is not known apart; the text says so and warns for each target.
func TestYearLists(t *testing.T) {
	y := &Year{Name: "Here", Caution: safetyLine, Candidates: []YearCandidate{
		{Rank: 1, Access: "open", Finds: []float64{1, 0}}, {Rank: 2, Access: "closed", Finds: []float64{9, 9}},
		{Rank: 3, Access: "unknown", Finds: []float64{2, 5}}, {Rank: 4, Access: "permit", Finds: []float64{3, 4}}, {Rank: 5, Access: "private", Finds: []float64{2.5, 1}},
	}}
	p := builtin(t)
	q, err := p.For(target(t, "spring-morels"))
	if err != nil {
		t.Fatal(err)
	}
	y.add("a", p)
	y.add("b", q)
	y.choose(2)
	for _, tt := range []struct {
		what string
		got  YearVisits
		want []int
	}{
		{"a open", y.Targets[0].Open, []int{4, 1}}, {"a ask", y.Targets[0].Ask, []int{5, 3}},
		{"b open", y.Targets[1].Open, []int{4}}, {"b ask", y.Targets[1].Ask, []int{3, 5}},
	} {
		if !slices.Equal(tt.got.Ranks, tt.want) {
			t.Errorf("%s: got %v, want %v", tt.what, tt.got.Ranks, tt.want)
		}
	}
	if y.Targets[0].Ask.Finds != 4.5 {
		t.Errorf("finds of a list: %g", y.Targets[0].Ask.Finds)
	}
	for m, want := range map[int][]string{1: {"a"}, 4: {"a", "b"}, 6: {"b"}, 8: {}} {
		if got := y.Months[m-1].Targets; !slices.Equal(got, want) {
			t.Errorf("month %d: %v, want %v", m, got, want)
		}
	}
	text := y.Text(0)
	for _, want := range []string{"ask the owner first: 5, 3 (4.5 finds)", "Jul to Sep  nothing in season", "A deadly twin:", "False morels:", "Ticks:", safetyLine} {
		if !strings.Contains(text, want) {
			t.Errorf("the text lacks %q:\n%s", want, text)
		}
	}
	for line := range strings.Lines(text) {
		if terminal.Width(strings.TrimSuffix(line, "\n")) > 80 {
			t.Errorf("wider than 80 columns: %s", line)
		}
	}
	if _, err := json.Marshal(y); err != nil {
		t.Error(err)
	}
}
