package habitat

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rillwood/fixtures"
	"rillwood/habitat/field"
	"rillwood/habitat/season"
	"rillwood/habitat/weather"
)

// A spring target asks for other things of its days; none of it is code.
const springSeason = `season:
  months: [3, 4, 5]
  mild: {tmax_at_least_c: 15, tmin_at_least_c: 4, days: 3}
  wet: {within_days: 10, rain_at_least_mm: 10, source: "made up"}
  degree_days: {start: 01-01, base_c: 0, cutoff_c: 30, method: single-sine, low: 300, high: 700, fill_days: 5}
  source: "made up"
`

func withSeason(t *testing.T, section string) *Profile {
	t.Helper()
	data, err := BuiltinProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	from := bytes.Index(data, []byte("\nseason:\n")) + 1
	to := bytes.Index(data, []byte("# Whom to call"))
	if from < 1 || to < from {
		t.Fatal("the built-in profile has no section season: before help:")
	}
	p, err := ParseProfile("p.yaml", bytes.Join([][]byte{data[:from], []byte(section), data[to:]}, nil))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestSeasonRoundTrip(t *testing.T) {
	p := withSeason(t, springSeason)
	four, thirty, ten := 4.0, 30.0, 10.0
	want := &season.Rule{
		Months:     []int{3, 4, 5},
		Mild:       &season.Mild{TmaxAtLeastC: 15, TminAtLeastC: &four, Days: 3},
		Wet:        &season.Wet{WithinDays: 10, RainAtLeastMM: &ten, Source: "made up"},
		DegreeDays: &season.DegreeDays{Start: "01-01", CutoffC: &thirty, Method: season.SingleSine, Low: 300, High: 700, FillDays: 5},
		Source:     "made up",
	}
	if d := cmp.Diff(want, p.Season); d != "" {
		t.Errorf("read (-want +got):\n%s", d)
	}
	out, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	again, err := ParseProfile("again.yaml", out)
	if err != nil || cmp.Diff(p, again) != "" {
		t.Errorf("written and read again: %v, %s", err, cmp.Diff(p, again))
	}
}

// A profile of earlier days has no such section; it reads, and what needs the
// section says so in a line.
func TestSeasonMissing(t *testing.T) {
	p := withSeason(t, "")
	if p.Season != nil {
		t.Fatal("a rule out of nowhere")
	}
	out, err := p.Encode()
	if err != nil || bytes.Contains(out, []byte("season:")) {
		t.Errorf("written: %v", err)
	}
	_, err = p.SeasonRule()
	if err == nil || !strings.Contains(err.Error(), "profile elm-bottoms: has no section season:") || !strings.Contains(err.Error(), "copy that of the built-in profile") {
		t.Errorf("error %v", err)
	}
}

// The built-in rule says of each figure that it is an assumption.
func TestSeasonIsMarkedAssumption(t *testing.T) {
	r, err := builtin(t).SeasonRule()
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]string{"rule": r.Source, "freeze": r.Freeze.Source, "mild": r.Mild.Source, "wet": r.Wet.Source, "cool": r.Cool.Source} {
		if !strings.HasPrefix(s, "assumption") {
			t.Errorf("source of %s: %q", name, s)
		}
	}
}

func TestVisitsOf(t *testing.T) {
	day := time.Date(2025, 12, 6, 0, 0, 0, 0, time.UTC)
	recs := []field.Record{
		{Date: day, Host: "american-elm", Inspected: 12, Found: 1},
		{Date: day, Host: "american-elm", Inspected: 3, Condition: field.DeadStanding},
		{Date: day, Host: "american-elm", Inspected: 3, Condition: field.Alive},
		{Date: day, Host: "american-elm"},
		{Date: day, Host: field.NoHost},
		{Date: day, Host: "american-elm", Inspected: 2, Found: 1, Confirmed: "no"},
		{Date: day, Host: "american-elm", Inspected: 2, Confirmed: "no"},
	}
	d := weather.DayAt(day)
	want := []season.Visit{{Day: d, Found: true}, {Day: d}, {Day: d}}
	if diff := cmp.Diff(want, VisitsOf(recs, false)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if got := VisitsOf(recs, true); len(got) != 4 || !got[2].Found {
		t.Errorf("with those not confirmed: %v", got)
	}
}

// Every caution of the short list goes with the calendar.
func TestSeasonFiles(t *testing.T) {
	p := builtin(t)
	s, err := weather.Parse("weather.csv", fixtures.Weather(1), weather.NotTold)
	if err != nil {
		t.Fatal(err)
	}
	o, err := season.Answer(season.Question{Series: s, Rule: p.Season, Target: p.Target.Common, Profile: p.Name})
	if err != nil {
		t.Fatal(err)
	}
	files, err := SeasonFiles(o, p)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range files {
		names = append(names, f.Name)
		switch f.Name {
		case "season.json":
			if !json.Valid(f.Data) {
				t.Error("no JSON")
			}
		case "windows.ics":
			whole := strings.ReplaceAll(string(f.Data), "\r\n ", "")
			if events := strings.Count(whole, "BEGIN:VEVENT"); events == 0 || strings.Count(whole, "rusty-brown spore print") != events {
				t.Errorf("%d events, %d tell of the deadly twin", events, strings.Count(whole, "rusty-brown spore print"))
			}
		}
	}
	if want := []string{"season.json", "days.csv", "strip.png", "strip.svg", "windows.ics"}; cmp.Diff(want, names) != "" {
		t.Errorf("files %v", names)
	}
}
