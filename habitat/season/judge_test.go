package season

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"rillwood/habitat/weather"
)

// record makes a series from day on; each day is "tmin tmax rain depth", a dash
// for what is missing.
func record(t testing.TB, first string, days ...string) *weather.Series {
	t.Helper()
	d, err := weather.ParseDay(first)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	b.WriteString("date,tmin_c,tmax_c,prcp_mm,snwd_mm\n")
	for i, day := range days {
		f := strings.Fields(day)
		for len(f) < 4 {
			f = append(f, "0")
		}
		row := strings.ReplaceAll(strings.Join(f, ","), "-,", "NA,")
		if strings.HasSuffix(row, ",-") {
			row = row[:len(row)-1] + "NA"
		}
		fmt.Fprintf(&b, "%s,%s\n", d+weather.Day(i), row)
	}
	s, err := weather.Parse("w", []byte(b.String()), weather.NotTold)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// letters of a day: y yes, n no, ? unknown.
func told(ts []Truth) string {
	var b strings.Builder
	for _, v := range ts {
		b.WriteByte("n?y"[v])
	}
	return b.String()
}

// One condition at a time, by hand. The first days look back beyond the record.
func TestConditions(t *testing.T) {
	all := []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}
	for _, c := range []struct {
		name string
		rule Rule
		of   Condition
		days []string
		want string
	}{
		{"months", Rule{Months: []int{1}}, InMonths, []string{"0 5", "- -"}, "yy"},
		{"frost within three days", Rule{Months: all, Freeze: &Freeze{TminAtMostC: 0, WithinDays: 3}}, FreezeBefore,
			[]string{"3 5", "0 5", "1 5", "1 5", "1 5", "- 5", "1 5", "1 5", "1 5"}, "?yyyn???n"},
		{"two mild days", Rule{Months: all, Mild: &Mild{TmaxAtLeastC: 4, Days: 2}}, MildSpell,
			[]string{"0 4", "0 4", "0 3.9", "0 9", "0 9", "0 -", "0 9", "0 9", "0 -", "0 1"}, "?ynny??y?n"},
		{"mild nights too", Rule{Months: all, Mild: &Mild{TmaxAtLeastC: 4, TminAtLeastC: float(2), Days: 1}}, MildSpell,
			[]string{"2 4", "1 9", "- 9", "- 3"}, "yn?n"},
		{"rain in two days", Rule{Months: all, Wet: &Wet{WithinDays: 2, RainAtLeastMM: float(0.3)}}, WetBefore,
			[]string{"1 2 0", "1 2 0.1", "1 2 0.2", "1 2 0", "1 2 -", "1 2 0.3", "1 2 0"}, "?nyn?yy"},
		{"snow gone in two days", Rule{Months: all, Wet: &Wet{WithinDays: 2, MeltAtLeastMM: float(20)}}, WetBefore,
			//  first, lost 10, 10 more, settles in frost, a hole, after it, bare, bare still though not told, rain: it may lie, nothing was there to go
			[]string{"1 2 0 100", "1 2 0 90", "1 2 0 80", "-9 -2 0 50", "1 5 0 -", "1 5 0 0", "1 5 0 0", "1 5 0 -", "1 5 9 -"}, "??yn???nn"},
		{"rain or snow gone", Rule{Months: all, Wet: &Wet{WithinDays: 1, RainAtLeastMM: float(5), MeltAtLeastMM: float(20)}}, WetBefore,
			[]string{"1 2 5 100", "1 2 0 80", "1 2 0 79", "1 2 - 50", "1 2 - 49", "1 2 5 -"}, "yyny?y"},
		{"not too warm", Rule{Months: all, Cool: &Cool{TmaxAtMostC: 15}}, NotTooWarm, []string{"0 15", "0 15.1", "0 -"}, "yn?"},
		{"warmth gathered", Rule{Months: all, DegreeDays: &DegreeDays{Start: "01-02", BaseC: 0, Method: Average, Low: 10, High: 20, FillDays: 1}}, WarmthGathered,
			//  before    5      10     15 filled  20       25       gap of two: not known
			[]string{"5 5", "5 5", "5 5", "- 5", "5 5", "5 5", "- 5", "- 5", "5 5"}, "?nyyyn???"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if key, problem := c.rule.Check(); problem != "" {
				t.Fatalf("the rule is wrong: %s %s", key, problem)
			}
			j := Judge(record(t, "2024-01-01", c.days...), &c.rule)
			if got := told(j.By[c.of]); got != c.want {
				t.Errorf("got %s, want %s", got, c.want)
			}
		})
	}
}

// A rule never says yes or no where a value that is missing could make it the
// other: whatever is lost from a record, days stay as they were or are not
// known. (Of melt and gathered warmth this is not asked: short gaps are filled.)
func TestLossesNeverTurnADay(t *testing.T) {
	r := winter
	r.Wet = &Wet{WithinDays: 4, RainAtLeastMM: float(5)}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "days")
		var whole, holed []string
		for range n {
			lo := rapid.IntRange(-6, 10).Draw(t, "tmin")
			v := []string{fmt.Sprint(lo), fmt.Sprint(lo + rapid.IntRange(0, 10).Draw(t, "range")), fmt.Sprint(rapid.IntRange(0, 6).Draw(t, "rain"))}
			whole = append(whole, strings.Join(v, " "))
			for i := range v {
				if rapid.IntRange(0, 5).Draw(t, "lost") == 0 {
					v[i] = "-"
				}
			}
			holed = append(holed, strings.Join(v, " "))
		}
		tb := &testing.T{}
		a, b := Judge(record(tb, "2024-01-20", append(whole, "0 0 0")...), &r), Judge(record(tb, "2024-01-20", append(holed, "0 0 0")...), &r)
		for i := range a.Good {
			if b.Good[i] != Unknown && b.Good[i] != a.Good[i] {
				t.Fatalf("day %d: %s, with losses %s\n%q\n%q", i, a.Good[i], b.Good[i], whole, holed)
			}
		}
	})
}

func TestNeverMeasured(t *testing.T) {
	s := record(t, "2024-01-01", "-1 5 - 100", "-1 5 - 50", "-1 5 - 20")
	j := Judge(s, &winter)
	if len(j.NotAsked) != 1 || !strings.Contains(j.NotAsked[0], "no precipitation (PRCP)") || j.By[WetBefore] != nil {
		t.Errorf("without rain: %q", j.NotAsked)
	}
	if told(j.Good) != "?yy" {
		t.Errorf("without rain the days are %s, want ?yy", told(j.Good))
	}
	j = Judge(record(t, "2024-01-01", "-1 5 9 -", "-1 5 0 -", "-1 5 0 -"), &winter)
	if len(j.NotAsked) != 1 || !strings.Contains(j.NotAsked[0], "only rain is judged") || told(j.Good) != "?yy" {
		t.Errorf("without depth: %q, %s", j.NotAsked, told(j.Good))
	}
	if _, err := Answer(Question{Series: record(t, "2024-01-01", "- 5"), Rule: &winter}); err == nil || !strings.Contains(err.Error(), "w: has no value of TMIN") {
		t.Errorf("without minima: %v", err)
	}
}

func TestWindows(t *testing.T) {
	for _, c := range []struct {
		name, good, months string
		w                  WindowRule
		want               []Span
	}{
		{"none", "nn?n", "yyyy", WindowRule{}, nil},
		{"single days", "ynyy", "yyyy", WindowRule{}, []Span{{0, 0}, {2, 3}}},
		{"bridged", "yn?yn", "yyyyy", WindowRule{BridgeDays: 2}, []Span{{0, 3}}},
		{"too wide", "ynnny", "yyyyy", WindowRule{BridgeDays: 2}, []Span{{0, 0}, {4, 4}}},
		{"short ones go", "ynnyy", "yyyyy", WindowRule{LeastDays: 2}, []Span{{3, 4}}},
		{"bridging makes long", "yny", "yyy", WindowRule{BridgeDays: 1, LeastDays: 3}, []Span{{0, 2}}},
		{"not over other months", "yny", "yny", WindowRule{BridgeDays: 5}, []Span{{0, 0}, {2, 2}}},
		{"to the end", "nyy", "yyy", WindowRule{}, []Span{{1, 2}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			truth := func(s string) (out []Truth) {
				for _, b := range []byte(s) {
					out = append(out, Truth(strings.IndexByte("n?y", b)))
				}
				return out
			}
			if d := cmp.Diff(c.want, c.w.spans(truth(c.good), truth(c.months))); d != "" {
				t.Errorf("(-want +got):\n%s", d)
			}
		})
	}
}

func TestRuleMistakes(t *testing.T) {
	ok := func() *Rule {
		r := spring
		d := *r.DegreeDays
		r.DegreeDays = &d
		return &r
	}
	for _, c := range []struct {
		key, want string
		spoil     func(r *Rule)
	}{
		{"months", "missing", func(r *Rule) { r.Months = nil }},
		{"months", "found 13", func(r *Rule) { r.Months = []int{13} }},
		{"months", "in the order they come", func(r *Rule) { r.Months = []int{3, 5, 4} }},
		{"months", "in the order they come", func(r *Rule) { r.Months = []int{11, 12, 11} }},
		{"months", "in the order they come", func(r *Rule) { r.Months = []int{11, 1, 12} }},
		{"freeze.within_days", "found 0", func(r *Rule) { r.Freeze = &Freeze{} }},
		{"freeze.tmin_at_most_c", "found -99", func(r *Rule) { r.Freeze = &Freeze{TminAtMostC: -99, WithinDays: 3} }},
		{"mild.days", "found 0", func(r *Rule) { r.Mild = &Mild{} }},
		{"mild.tmin_at_least_c", "found 99", func(r *Rule) { r.Mild = &Mild{TminAtLeastC: float(99), Days: 1} }},
		{"wet.rain_at_least_mm", "missing", func(r *Rule) { r.Wet = &Wet{WithinDays: 3} }},
		{"wet.melt_at_least_mm", "found 0", func(r *Rule) { r.Wet = &Wet{WithinDays: 3, MeltAtLeastMM: float(0)} }},
		{"wet.within_days", "found 999", func(r *Rule) { r.Wet = &Wet{WithinDays: 999, MeltAtLeastMM: float(1)} }},
		{"cool.tmax_at_most_c", "no day would ever do", func(r *Rule) { r.Cool = &Cool{TmaxAtMostC: 14} }},
		{"degree_days.start", "found \"13-01\"", func(r *Rule) { r.DegreeDays.Start = "13-01" }},
		{"degree_days.start", "month and day of each year", func(r *Rule) { r.DegreeDays.Start = "02-29" }},
		{"degree_days.base_c", "found 99", func(r *Rule) { r.DegreeDays.BaseC = 99 }},
		{"degree_days.cutoff_c", "above base_c", func(r *Rule) { r.DegreeDays.CutoffC = float(4) }},
		{"degree_days.method", `found "double-sine"`, func(r *Rule) { r.DegreeDays.Method = "double-sine" }},
		{"degree_days.low", "found -1", func(r *Rule) { r.DegreeDays.Low = -1 }},
		{"degree_days.high", "above low", func(r *Rule) { r.DegreeDays.High = 150 }},
		{"degree_days.fill_days", "found 99", func(r *Rule) { r.DegreeDays.FillDays = 99 }},
		{"window.bridge_days", "found -1", func(r *Rule) { r.Window.BridgeDays = -1 }},
		{"window.least_days", "found 99", func(r *Rule) { r.Window.LeastDays = 99 }},
	} {
		r := ok()
		if key, problem := r.Check(); problem != "" {
			t.Fatalf("%s: %s", key, problem)
		}
		c.spoil(r)
		if key, problem := r.Check(); key != c.key || !strings.Contains(problem, c.want) {
			t.Errorf("got %s: %s, want %s: … %s", key, problem, c.key, c.want)
		}
	}
}

func TestCalendar(t *testing.T) {
	parts := &Rule{Months: []int{4, 5, 9, 10}}
	full := &Rule{Months: []int{7, 8, 9, 10, 11, 12, 1, 2, 3, 4, 5, 6}}
	for _, c := range []struct {
		rule               *Rule
		day                string
		year               int
		label, first, last string
	}{
		{&winter, "2026-01-15", 2025, "2025–26", "2025-10-01", "2026-05-31"},
		{&winter, "2025-10-01", 2025, "2025–26", "2025-10-01", "2026-05-31"},
		{&winter, "2025-09-30", 2024, "2024–25", "2024-10-01", "2025-05-31"},
		{&winter, "1999-12-31", 1999, "1999–00", "1999-10-01", "2000-05-31"},
		{&spring, "2026-02-28", 2025, "2025", "2025-03-01", "2025-06-30"},
		{parts, "2024-07-01", 2024, "2024", "2024-04-01", "2024-10-31"},
		{full, "2024-06-30", 2023, "2023–24", "2023-07-01", "2024-06-30"},
		{&Rule{Months: []int{12}}, "2024-12-31", 2024, "2024", "2024-12-01", "2024-12-31"},
	} {
		d, _ := weather.ParseDay(c.day)
		year := c.rule.yearOf(d)
		first, last := c.rule.bounds(year)
		if year != c.year || c.rule.label(year) != c.label || first.String() != c.first || last.String() != c.last {
			t.Errorf("%v on %s: %d, %s, %s to %s", c.rule.Months, c.day, year, c.rule.label(year), first, last)
		}
	}
}

// Half a year on: the same weather half a year later gives the same days.
func TestSouth(t *testing.T) {
	south := spring.South()
	if d := cmp.Diff([]int{9, 10, 11, 12}, south.Months); d != "" || south.DegreeDays.Start != "07-01" || spring.DegreeDays.Start != "01-01" {
		t.Errorf("months %v, start %s; the rule itself now %s", south.Months, south.DegreeDays.Start, spring.DegreeDays.Start)
	}
	if twice := south.South(); cmp.Diff(&spring, twice) != "" {
		t.Error("there and back is another rule")
	}
	late := Rule{Months: []int{8}, DegreeDays: &DegreeDays{Start: "08-31"}}
	if got := late.South().DegreeDays.Start; got != "02-28" {
		t.Errorf("31 August goes to %s, want 02-28", got)
	}
}

// All by the day of the year, counted year by year in another way.
func TestUsualAgainstCounting(t *testing.T) {
	s, err := weather.Parse("w", invented(t), weather.NotTold)
	if err != nil {
		t.Fatal(err)
	}
	j := Judge(s, &winter)
	usual := winter.usual(j)
	if len(usual) != 31+30+31+31+29+31+30+31 {
		t.Fatalf("%d days of the year", len(usual))
	}
	total := 0
	for _, u := range usual {
		want := Usual{}
		for i := range j.Good {
			_, m, d := (s.First + weather.Day(i)).Date()
			if m != u.Day.month || d != u.Day.day {
				continue
			}
			in := false
			for _, w := range j.Windows {
				in = in || i >= w.First && i <= w.Last
			}
			if in || j.Good[i] != Unknown {
				want.Years++
			}
			if in {
				want.InWindow++
			}
		}
		total += want.InWindow
		if u.Years != want.Years || u.InWindow != want.InWindow {
			t.Fatalf("%s: %d of %d, want %d of %d", u.Day, u.InWindow, u.Years, want.InWindow, want.Years)
		}
	}
	days := 0
	for _, w := range j.Windows {
		days += w.Len()
	}
	if days != total || days == 0 {
		t.Errorf("windows have %d days, the year's days %d", days, total)
	}
	// The pooled share of 15 January is that of 8 to 22 January.
	w, n := 0, 0
	at := winter.place(mustDay(t, "2001-01-15"))
	for _, u := range usual[at-7 : at+8] {
		w, n = w+u.InWindow, n+u.Years
	}
	if got, want := usual[at].Share, float64(w)/float64(n); got != want || usual[at-7].Day != (slot{time.January, 8}) {
		t.Errorf("share of 15 January %g, want %g", got, want)
	}
	stretches, share := best(usual)
	if len(stretches) == 0 || share < 0.4 || share > 0.8 {
		t.Errorf("best stretches %v with %g of all window days", stretches, share)
	}
}

// Days of one group lend each other nothing over a break in the months.
func TestUsualKeepsToItsMonths(t *testing.T) {
	r := &Rule{Months: []int{4, 9}}
	var days []string
	for range 30 {
		days = append(days, "0 5")
	}
	j := Judge(record(t, "2024-04-01", days...), r)
	u := r.usual(j)
	if u[29].Share != 1 || u[30].Share != 0 || u[30].Years != 0 {
		t.Errorf("30 April %+v, 1 September %+v", u[29], u[30])
	}
}

func mustDay(t testing.TB, s string) weather.Day {
	t.Helper()
	d, err := weather.ParseDay(s)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func TestRangeOf(t *testing.T) {
	v := []float64{9, 1, 2, 3, 4, 5, 6, 7, 8, 10}
	if got := rangeOf(v); got != (Range{1, 5, 9}) {
		t.Errorf("of 1 to 10: %+v", got)
	}
	if got := rangeOf(nil); got != (Range{}) {
		t.Errorf("of nothing: %+v", got)
	}
}
