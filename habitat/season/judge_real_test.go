package season

import (
	"encoding/json"
	"math"
	"testing"

	"rillwood/habitat/weather"
	"rillwood/internal/judges"
	"rillwood/internal/shareddata"
)

func float(v float64) *float64 { return &v }

// winter and spring are two rules that ask between them for every condition.
var (
	winter = Rule{
		Months: []int{10, 11, 12, 1, 2, 3, 4, 5},
		Freeze: &Freeze{TminAtMostC: 0, WithinDays: 14},
		Mild:   &Mild{TmaxAtLeastC: 4, Days: 2},
		Wet:    &Wet{WithinDays: 7, RainAtLeastMM: float(5), MeltAtLeastMM: float(25)},
		Cool:   &Cool{TmaxAtMostC: 15},
		Window: WindowRule{BridgeDays: 1, LeastDays: 2},
	}
	spring = Rule{
		Months:     []int{3, 4, 5, 6},
		Mild:       &Mild{TmaxAtLeastC: 15, TminAtLeastC: float(4), Days: 3},
		Wet:        &Wet{WithinDays: 10, RainAtLeastMM: float(10)},
		DegreeDays: &DegreeDays{Start: "01-01", BaseC: 4, CutoffC: float(30), Method: SingleSine, Low: 150, High: 500, FillDays: 3},
		Window:     WindowRule{BridgeDays: 2},
	}
	melting = Rule{
		Months: []int{11, 12, 2, 3},
		Wet:    &Wet{WithinDays: 5, MeltAtLeastMM: float(50)},
		Window: WindowRule{BridgeDays: 3, LeastDays: 3},
	}
)

// Whole station records of NOAA's GHCN-Daily, counted by a few lines of Python
// that read the file themselves.
func TestRealStationsAgainstPython(t *testing.T) {
	for _, f := range []struct {
		file  string
		units weather.Units
		rules map[string]Rule
	}{
		{"GHCN_USW00014839.csv", weather.US, map[string]Rule{"winter": winter, "spring": spring}},
		{"USW00003870.dly", weather.NotTold, map[string]Rule{"winter": winter, "melting": melting}},
		{"USC00411885.dly", weather.NotTold, map[string]Rule{"winter": winter, "melting": melting}},
	} {
		path := shareddata.Path(t, "realdata", "10-ghcn-daily", f.file)
		s, err := weather.Read(path, f.units)
		if err != nil {
			t.Fatal(err)
		}
		for name, r := range f.rules {
			t.Run(f.file+" "+name, func(t *testing.T) {
				t.Parallel()
				rule, err := json.Marshal(r)
				if err != nil {
					t.Fatal(err)
				}
				want := judges.CountSeasons(t, path, string(f.units), string(rule))
				o, err := Answer(Question{Series: s, Rule: &r})
				if err != nil {
					t.Fatal(err)
				}
				if s.First.String() != want.First || s.Last().String() != want.Last {
					t.Errorf("record from %s to %s, want %s to %s", s.First, s.Last(), want.First, want.Last)
				}
				for _, e := range s.Account.Tallies() {
					if e.Known != want.Known[e.Element.String()] {
						t.Errorf("%s: %d values, want %d", e.Element, e.Known, want.Known[e.Element.String()])
					}
				}
				if len(o.Seasons) != len(want.Seasons) {
					t.Fatalf("%d seasons, want %d", len(o.Seasons), len(want.Seasons))
				}
				days := 0
				for i, w := range want.Seasons {
					m := o.Seasons[i]
					c := m.Counts
					got := judges.SeasonCount{
						Year: m.Year, TempDays: c.TempDays, Strict: c.FreezeThaw.Strict, Firm: c.FreezeThaw.Firm, Hard: c.FreezeThaw.Hard,
						Average: c.Average, Sine: c.Sine, Judged: m.Judged, Good: m.Good, Windows: m.Windows, WindowDays: m.WindowDays,
					}
					days += w.WindowDays
					if math.Abs(got.Average-w.Average) < 1e-6 && math.Abs(got.Sine-w.Sine) < 1e-6 {
						got.Average, got.Sine = w.Average, w.Sine
					}
					if got != w {
						t.Errorf("season %s\n got %+v\nwant %+v", m.Label, got, w)
					}
				}
				t.Logf("%d seasons, %d window days", len(want.Seasons), days)
			})
		}
	}
}
