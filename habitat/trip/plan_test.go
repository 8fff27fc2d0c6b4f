package trip

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"rillwood/internal/terminal"
)

func aPlan() *Plan {
	zone := time.FixedZone("", -6*3600)
	at := func(h, m int) time.Time { return time.Date(2026, 12, 5, h, m, 0, 0, zone) }
	k, sunset, dusk := 7, at(16, 12), at(16, 44)
	leg := Leg{Minutes: 10, Metres: 1500, PathM: 1000, OffM: 500, Line: [][2]float64{{-87.001, 43.001}, {-87.002, 43.002}}}
	return &Plan{
		Format: Format, Caution: "A map says where to look.", Run: "0123", Name: "Some\x1b[31m County", Date: "2026-12-05", Zone: "UTC-06:00",
		Start: Spot{-87.001, 43.001, "Lot\nA"}, Daylight: Daylight{Sunrise: &[]time.Time{at(7, 5)}[0], Sunset: &sunset, Dusk: &dusk}, Leave: at(8, 0), Back: at(12, 0), BackBy: at(15, 27),
		Stops: []Stop{{Rank: 3, Part: "b", Share: 0.2, Way: leg, Arrive: at(8, 10), Depart: at(11, 50), Minutes: 220, Trees: 48, Finds: 3.2, MoveOn: &k, Hosts: []string{"American elm"}, Access: "open", Lon: -87.002, Lat: 43.002},
			{Rank: 12, Share: 1, Way: leg, Arrive: at(11, 55), Depart: at(11, 58), Trees: 2, Hosts: []string{"slippery elm"}, Access: "unknown", Lon: -87.002, Lat: 43.002}},
		Home: &leg, Totals: Totals{Finds: 3.3, Trees: 50, Metres: 4500, WalkingMin: 30, StayingMin: 223}, Reserve: []Reserve{{"4", 10, 0.7, "permit"}},
		Search: Search{Considered: 9, Bound: 3.5, Gap: 0.05}, LeftOut: []LeftOut{{"closed ground", []int{8, 9}}},
		Cautions: []string{"Tell someone."}, Warnings: []Warning{{"A deadly twin", "Deadly Galerina grows there."}}, Known: []string{"streams"}, NotKnown: []string{"fences"},
	}
}

func TestPlanIsReadAsItWasWritten(t *testing.T) {
	path := filepath.Join(t.TempDir(), "trip.json")
	p := aPlan()
	if err := p.Write(path); err != nil {
		t.Fatal(err)
	}
	got, err := Read(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(p, got); d != "" {
		t.Error(d)
	}
	geo := filepath.Join(t.TempDir(), "trip.geojson")
	if err := p.WriteGeoJSON(geo); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(geo)
	if err != nil {
		t.Fatal(err)
	}
	var c struct {
		Features []struct{ Geometry struct{ Type string } }
	}
	if err := json.Unmarshal(data, &c); err != nil || len(c.Features) != 6 {
		t.Errorf("%d features, %v", len(c.Features), err)
	}
}

func TestText(t *testing.T) {
	text := aPlan().Text(terminal.Screen{Columns: 80})
	for _, want := range []string{
		"Saturday 5 December 2026, Some", "sunset 16:12, civil dusk 16:44", "leave 08:00, back 12:00, at the latest 15:27",
		"4.5 km between the stops", "the best one finds 5.3 % more at most", "    3 b  1.5 km     10 min   08:10    11:50      48        7    3.2  open",
		"20 % of the", "in reserve  where you move on early, there is also patch 4 (10 trees, 0.7", "left out    2 patches: closed ground", "A deadly twin: Deadly Galerina grows there.",
	} {
		if !strings.Contains(text, want) && !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("does not say %q", want)
		}
	}
	if strings.ContainsAny(text, "\x1b\x07") {
		t.Error("control characters are left")
	}
	for _, width := range []int{40, 60, 80, 120} {
		for line := range strings.Lines(aPlan().Text(terminal.Screen{Columns: width})) {
			if w := terminal.Width(strings.TrimSuffix(line, "\n")); w > max(width, 56) {
				t.Errorf("on %d columns a line of %d: %q", width, w, line)
			}
		}
	}
	none := aPlan()
	none.Stops, none.Home = nil, nil
	if text := none.Text(terminal.Screen{}); !strings.Contains(text, "no trip") {
		t.Error("a day without stops is not told")
	}
}

func TestParseRefuses(t *testing.T) {
	good, err := json.Marshal(aPlan())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Parse(good); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string][2]string{
		"format": {Format, "rillwood-run-1"}, "start": {`"lat":43.001`, `"lat":143`}, "stop": {`"trees":48`, `"trees":-1`},
		"line": {`[-87.002,43.002]`, `[-187.002,43.002]`}, "home": {`"home":{`, `"nohome":{`}, "json": {`{`, `[`}, "kind": {`"trees":48`, `"trees":"many"`},
	} {
		text := strings.Replace(string(good), change[0], change[1], 1)
		if text == string(good) {
			t.Fatalf("%s: nothing was changed", name)
		}
		if _, err := Parse([]byte(text)); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	good, err := json.Marshal(aPlan())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	f.Add([]byte(`{"format":"rillwood-trip-1"}`))
	f.Add([]byte(`{"format":"rillwood-trip-1","stops":[{}],"home":{}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Parse(data)
		if err != nil {
			return
		}
		if text := p.Text(terminal.Screen{}); strings.Contains(text, "\x1b") {
			t.Errorf("an escape gets through: %q", text)
		}
	})
}
