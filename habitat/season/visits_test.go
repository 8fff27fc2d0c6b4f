package season

import (
	"math"
	"strings"
	"testing"

	"rillwood/habitat/weather"
)

// tenDays are good from the third day on to the sixth.
func tenDays(t testing.TB) *Judgement {
	return Judge(record(t, "2024-03-01", "3 5 9", "-1 5 9", "1 5 9", "1 5 0", "1 5 0", "1 5 0", "1 20 0", "1 20 0", "1 20 0", "- - -"), &Rule{
		Months: []int{3}, Mild: &Mild{TmaxAtLeastC: 4, Days: 2}, Cool: &Cool{TmaxAtMostC: 15},
	})
}

func TestScoreVisits(t *testing.T) {
	j := tenDays(t)
	if got := told(j.Good); got != "?yyyyynnn?" {
		t.Fatalf("days %s", got)
	}
	first := mustDay(t, "2024-03-01")
	at := func(day int, found bool) Visit { return Visit{first + weather.Day(day-1), found} }
	s, err := j.ScoreVisits([]Visit{
		at(2, true), at(2, false), // one day, with a find
		at(3, false), at(3, true), at(4, false),
		at(7, false), at(8, true), at(9, false),
		at(1, true),   // not judged
		at(10, true),  // nothing measured
		at(-40, true), // before the record, and outside the months
		at(20, false), // after it
	})
	if err != nil {
		t.Fatal(err)
	}
	if s.Inside.Days != 3 || s.Inside.Finds != 2 || s.Outside.Days != 3 || s.Outside.Finds != 1 {
		t.Errorf("inside %+v, outside %+v", s.Inside, s.Outside)
	}
	if s.NotJudged != 1 || s.NoRecord != 2 || s.NotInMonths != 1 {
		t.Errorf("left out: %+v", s)
	}
	if !strings.HasPrefix(s.Verdict, "too few to say: at least 5 days") {
		t.Errorf("verdict %q", s.Verdict)
	}
	for line := range strings.Lines(s.Text()) {
		if len([]rune(line)) > 81 {
			t.Errorf("too wide: %s", line)
		}
	}
	if _, err := j.ScoreVisits(nil); err == nil {
		t.Error("no visit is a score")
	}
}

// In a two-by-two table Firth's penalty adds a half to every count: the odds
// ratio is (a+½)(d+½)/((b+½)(c+½)) (Firth 1993; Heinze and Schemper 2002), and
// its standard error that of such a table, which is the information of the
// counts themselves at that point.
func TestOddsRatio(t *testing.T) {
	for _, c := range []struct {
		a, b, c, d int // inside with and without finds, outside with and without
		verdict    string
	}{
		{8, 4, 3, 9, "too few to say: the odds ratio's interval holds 1"},
		{20, 5, 4, 30, "finds were likelier on days in windows"},
		{1, 30, 20, 9, "finds were less likely on days in windows"},
		{10, 0, 0, 10, "finds were likelier on days in windows"}, // parted, and finite
		{5, 0, 5, 0, "too few to say: the odds ratio's interval holds 1"},
		{4, 0, 0, 400, "too few to say: at least 5 days"},
	} {
		s := &Score{Inside: Tally{Days: c.a + c.b, Finds: c.a}, Outside: Tally{Days: c.c + c.d, Finds: c.c}}
		if err := s.ratio(); err != nil {
			t.Fatalf("%v: %v", c, err)
		}
		s.judge()
		half := func(n int) float64 { return float64(n) + 0.5 }
		want := half(c.a) * half(c.d) / (half(c.b) * half(c.c))
		if math.Abs(s.OddsRatio.Ratio/want-1) > 1e-6 {
			t.Errorf("%v: odds ratio %g, want %g", c, s.OddsRatio.Ratio, want)
		}
		variance := 0.0
		for _, row := range [][2]int{{c.a, c.b}, {c.c, c.d}} {
			n := float64(row[0] + row[1])
			p := half(row[0]) / (n + 1)
			variance += 1 / (n * p * (1 - p))
		}
		if low := want * math.Exp(-1.959964*math.Sqrt(variance)); math.Abs(s.OddsRatio.Low/low-1) > 1e-4 {
			t.Errorf("%v: interval from %g, want %g", c, s.OddsRatio.Low, low)
		}
		if !strings.HasPrefix(s.Verdict, c.verdict) {
			t.Errorf("%v: %q, want %q", c, s.Verdict, c.verdict)
		}
	}
}

// The gain by leaving each day out in turn.
func TestGain(t *testing.T) {
	s := &Score{Inside: Tally{Days: 6, Finds: 4}, Outside: Tally{Days: 9, Finds: 2}}
	if err := s.ratio(); err != nil {
		t.Fatal(err)
	}
	type day struct{ inside, found bool }
	var days []day
	for i := range 6 {
		days = append(days, day{true, i < 4})
	}
	for i := range 9 {
		days = append(days, day{false, i < 2})
	}
	bits := 0.0
	for i, d := range days {
		chance := func(of func(day) bool) float64 {
			n, f := 0.0, 0.0
			for k, o := range days {
				if k != i && of(o) {
					n++
					if o.found {
						f++
					}
				}
			}
			p := (f + 0.5) / (n + 1)
			if !d.found {
				p = 1 - p
			}
			return p
		}
		bits += math.Log2(chance(func(o day) bool { return o.inside == d.inside }) / chance(func(day) bool { return true }))
	}
	if want := bits / 15; math.Abs(*s.GainBits-want) > 1e-12 {
		t.Errorf("gain %g, want %g", *s.GainBits, want)
	}
}

// A rule that makes the finds is found out, one that has nothing to do with
// them is not.
func TestScoreFindsTheTruth(t *testing.T) {
	j := Judge(inventedSeries(t), &winter)
	in := inSpans(j.Windows, j.Series.Len())
	var by, none []Visit
	for i := 3; i < j.Series.Len(); i += 23 {
		d := j.Series.First + weather.Day(i)
		odds := i * 7919 % 10
		by = append(by, Visit{d, odds < 2 || in[i] && odds < 6})
		none = append(none, Visit{d, odds < 4})
	}
	s, err := j.ScoreVisits(by)
	if err != nil || !strings.HasPrefix(s.Verdict, "finds were likelier") || *s.GainBits <= 0 {
		t.Errorf("finds by the rule: %v, %+v", err, s)
	}
	s, err = j.ScoreVisits(none)
	if err != nil || !strings.HasPrefix(s.Verdict, "too few to say") {
		t.Errorf("finds by chance: %v, %+v %v", err, s, s.OddsRatio)
	}
}
