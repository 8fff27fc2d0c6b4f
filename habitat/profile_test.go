package habitat

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// readCase reads a file of published check values.
func readCase(t testing.TB, name string, into any) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "fixtures", "cases", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

func builtin(t testing.TB) *Profile {
	t.Helper()
	p, err := LoadProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// Every built-in profile is valid, is called what its file is called, and
// says of every host where its figures come from.
func TestBuiltinProfiles(t *testing.T) {
	for _, name := range ProfileNames() {
		p, err := LoadProfile(name)
		if err != nil {
			t.Fatal(err)
		}
		if p.Name != name {
			t.Errorf("profile %s calls itself %s", name, p.Name)
		}
		for _, h := range p.Hosts {
			if h.Source == "" || h.HitRate.Source == "" {
				t.Errorf("%s: %s has a figure without a source", name, h.ID)
			}
			if h.Winter == "" {
				t.Errorf("%s: nothing is said of %s in winter", name, h.ID)
			}
		}
		for _, c := range p.Curves {
			if c.Source == "" {
				t.Errorf("%s: curve %s has no source", name, c.Name)
			}
		}
		if p.Bottomland.Source == "" || p.Suitability.Source == "" || p.Target.Source == "" || p.Help.Source == "" {
			t.Errorf("%s: a section has no source", name)
		}
	}
}

// Wetland status: National Wetland Plant List as tabulated by the EPA's
// wetland condition assessment (2011, 2016). Species codes: FVS species
// crosswalk of the USDA Forest Service.
func TestHostsAgreeWithPublishedLists(t *testing.T) {
	var lists struct {
		NWPL map[string][]string `json:"nwpl"`
		FIA  map[string]int      `json:"fia_spcd"`
	}
	readCase(t, "legends", &lists)
	p := builtin(t)
	want := []string{
		"american-elm", "slippery-elm", "eastern-cottonwood", "quaking-aspen", "bigtooth-aspen", "black-willow", "green-ash",
		"white-ash", "black-ash", "silver-maple", "red-maple", "boxelder", "sycamore", "hackberry",
	}
	var got []string
	for _, h := range p.Hosts {
		got = append(got, h.ID)
		regions, ok := lists.NWPL[h.Scientific]
		if !ok {
			t.Errorf("%s: %s is not on the list", h.ID, h.Scientific)
			continue
		}
		for i, r := range lists.NWPL["regions"] {
			if h.Wetland[r] != regions[i] {
				t.Errorf("%s in %s: got %s, list says %s", h.ID, r, h.Wetland[r], regions[i])
			}
		}
		if h.FIA != lists.FIA[h.Scientific] {
			t.Errorf("%s: species code %d, list says %d", h.ID, h.FIA, lists.FIA[h.Scientific])
		}
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("hosts (-want +got):\n%s", d)
	}
}

// A tree of wetter status may not be less drawn to bottomland than a drier
// one: response at B = 1 over response at B = 0.
func TestResponsesFollowWetlandStatus(t *testing.T) {
	rank := map[string]int{"UPL": 0, "FACU": 1, "FAC": 2, "FACW": 3, "OBL": 4}
	pull := func(h Host) float64 { return (h.Bottomland.At(1) + 0.01) / (h.Bottomland.At(0) + 0.01) }
	p := builtin(t)
	for _, wet := range p.Hosts {
		for _, dry := range p.Hosts {
			if rank[wet.Wetland["MW"]] > rank[dry.Wetland["MW"]]+1 && pull(wet) < pull(dry) {
				t.Errorf("%s (%s) is less drawn to bottomland than %s (%s): %.2f against %.2f", wet.ID, wet.Wetland["MW"], dry.ID, dry.Wetland["MW"], pull(wet), pull(dry))
			}
		}
		if wet.Wetland["MW"] == "FACU" && pull(wet) >= 1 {
			t.Errorf("%s is a tree of uplands, yet drawn to bottomland", wet.ID)
		}
	}
}

// Source of the depths: the publications named in the case file.
func TestBankfullCurves(t *testing.T) {
	names := map[string]string{
		"Bieger2015 Appalachian Highlands (m,km2)": "appalachian-highlands",
		"Bieger2015 USA":                             "usa",
		"Bieger2015 Interior Plains":                 "interior-plains",
		"Bieger2015 Laurentian Upland":               "laurentian-upland",
		"Bieger2015 Atlantic Plain":                  "atlantic-plain",
		"PA non-carbonate (Chaplin 2005)":            "pennsylvania",
		"PA carbonate (Chaplin 2005)":                "pennsylvania-carbonate",
		"WV App. Plateau (Messinger 2009)":           "west-virginia-plateau",
		"MD Allegheny Plateau+V&R (McCandless 2003)": "maryland-uplands",
		"OH region A (Sherwood & Huitger 2005)":      "ohio-a",
		"NY reg.5":                                   "new-york-central",
		"NY reg.6":                                   "new-york-south",
		"NY reg.7":                                   "new-york-west",
		"NE US (Bent & Waite 2013)":                  "northeast",
	}
	var file struct {
		Curves []struct {
			Curve  string    `json:"curve"`
			A      float64   `json:"a_metric"`
			B      float64   `json:"b"`
			Depths []float64 `json:"depth_m_at_km2_1_10_100_1000"`
		} `json:"curves"`
		Tolerance float64 `json:"tolerance_m"`
	}
	readCase(t, "bankfull_depth", &file)
	p := builtin(t)
	if len(file.Curves) != len(names) || len(p.Curves) != len(names) {
		t.Fatalf("%d curves in the case, %d in the profile, want %d", len(file.Curves), len(p.Curves), len(names))
	}
	for _, c := range file.Curves {
		curve, err := p.BankfullCurve(names[c.Curve])
		if err != nil {
			t.Fatalf("%s: %v", c.Curve, err)
		}
		a, b := curve.Metric()
		near(t, c.Curve+" a", a, c.A, 5e-5+1e-9)
		near(t, c.Curve+" b", b, c.B, 0)
		for i, km2 := range []float64{1, 10, 100, 1000} {
			near(t, c.Curve+" depth", curve.DepthM(km2), c.Depths[i], file.Tolerance)
		}
	}
	c, err := p.BankfullCurve("")
	if err != nil || c.Name != p.Curve {
		t.Errorf("default curve: got %s, %v", c.Name, err)
	}
	if lo, hi, ok := c.RangeKm2(); !ok || math.Abs(lo-0.2589988) > 1e-6 || math.Abs(hi-1025.635) > 1e-3 {
		t.Errorf("range of %s: %g to %g km², %v", c.Name, lo, hi, ok) // 0.1 and 396 square miles
	}
	if !math.IsNaN(c.DepthM(0)) || !math.IsNaN(c.DepthM(math.NaN())) {
		t.Error("no area gives a depth")
	}
	if _, err := p.BankfullCurve("ohio"); err == nil || !strings.Contains(err.Error(), "ohio-a") {
		t.Errorf("unknown curve: %v", err)
	}
}

// By the definition of the flood-prone surface (Rosgen 1994: twice bankfull
// depth) the odds are about even at r = 2 on gentle ground; they never rise
// with height or slope.
func TestBottomlandDefaults(t *testing.T) {
	b := &builtin(t).Bottomland
	two := math.Log(2)
	near(t, "B at twice bankfull depth", Logistic(b.Logit(two, two, 1, 100)), 0.5, 0.15)
	if got := Logistic(b.Logit(b.LnR(0, 1), b.LnR(0, 1), 0, 0)); got < 0.9 {
		t.Errorf("B on the stream's own level: %g", got)
	}
	if got := Logistic(b.Logit(b.LnR(30, 1), b.LnR(30, 1), 20, 500)); got > 0.01 {
		t.Errorf("B high on a slope: %g", got)
	}
	last := math.Inf(1)
	for h := -1.0; h < 100; h += 0.25 {
		r := b.LnR(h, 0.9)
		l := b.Logit(r, r, 2, 100)
		if l > last || b.Logit(r, r, 3, 100) > l || b.Logit(r, r, 2, 200) > l {
			t.Fatalf("log-odds rise at a height of %g m", h)
		}
		last = l
	}
	near(t, "r is held up by the height error", b.LnR(0, 0.2), math.Log(max(b.RFloor, b.HeightErrorM/0.2)), 1e-12)
	near(t, "r is held down by its ceiling", b.LnR(1e6, 1), math.Log(b.RCeiling), 1e-12)
	if !math.IsNaN(b.LnR(math.NaN(), 1)) {
		t.Error("an unknown height gives a ratio")
	}
}

func TestCurveAt(t *testing.T) {
	// Downy woodpecker, basal area: Schroeder 1982, FWS/OBS-82/10.38 (points from memory).
	var file struct {
		Downy struct {
			V1    Curve `json:"curve_V1_m2_ha"`
			V2    Curve `json:"curve_V2_snags_per_0.4ha"`
			Cases []struct{ V1, V2, SI1, SI2 float64 }
		} `json:"downy"`
	}
	readCase(t, "hsi_aggregation", &file)
	for _, c := range file.Downy.Cases {
		near(t, "basal area", file.Downy.V1.At(c.V1), c.SI1, 1e-12)
		near(t, "snags", file.Downy.V2.At(c.V2), c.SI2, 1e-12)
	}
	c := Curve{{1, 0.2}, {3, 0.8}}
	for x, want := range map[float64]float64{-5: 0.2, 1: 0.2, 2: 0.5, 3: 0.8, 9: 0.8} {
		near(t, "response", c.At(x), want, 1e-12)
	}
	near(t, "no curve", Curve(nil).At(4), 1, 0)
	if !math.IsNaN(c.At(math.NaN())) {
		t.Error("response to the unknown is known")
	}
}

func TestProfileRoundTrip(t *testing.T) {
	p := builtin(t)
	p.Hosts[0].Elevation = Curve{{610, 1}, {760, 0.2}}
	p.Hosts[0].HitRate = HitRate{Hits: 4.123456789012345, Of: 46, Weight: 46, Source: "field records: 'spring', \"#2\""}
	p.Provenance = append(p.Provenance, "learned: 40 trees\nsecond line")
	file := filepath.Join(t.TempDir(), "mine.yaml")
	if err := p.Write(file); err != nil {
		t.Fatal(err)
	}
	again, err := LoadProfile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(p, again); d != "" {
		t.Errorf("written and read again (-want +got):\n%s", d)
	}
	one, _ := p.Encode()
	two, _ := again.Encode()
	if string(one) != string(two) {
		t.Error("the same profile is written in two ways")
	}
	if err := p.Write(file); err == nil || !strings.Contains(err.Error(), "there already") {
		t.Errorf("an existing profile may be overwritten: %v", err)
	}
	left, err := os.ReadDir(filepath.Dir(file))
	if err != nil || len(left) != 1 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}

// A profile written before the newer figures were known still reads: hosts
// without a winter clause, trees without a doubt in their density.
func TestOlderProfilesRead(t *testing.T) {
	data, err := BuiltinProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	var old []string
	for line := range strings.Lines(string(data)) {
		if !strings.HasPrefix(line, "    winter:") && !strings.HasPrefix(line, "density_cv:") {
			old = append(old, line)
		}
	}
	p, err := ParseProfile("old.yaml", []byte(strings.Join(old, "")))
	if err != nil {
		t.Fatal(err)
	}
	if p.DensityCV != 0 || p.Hosts[0].Winter != "" || builtin(t).DensityCV != 0.6 {
		t.Errorf("density_cv %g, winter %q", p.DensityCV, p.Hosts[0].Winter)
	}
	out, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := ParseProfile("again.yaml", out); err != nil || cmp.Diff(p, again) != "" {
		t.Errorf("written and read again: %v, %s", err, cmp.Diff(p, again))
	}
}

// Each case replaces one piece of the built-in profile with a mistake.
func TestProfileMistakes(t *testing.T) {
	data, err := BuiltinProfile(DefaultProfile)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, old, new, want string }{
		{"bad name", "name: elm-bottoms", "name: Elm Bottoms", `name: expected a short name of small letters, digits and dashes, found "Elm Bottoms"`},
		{"no season", "months: [10, 11, 12, 1, 2, 3, 4, 5]", "months: []", "target.months: missing; list the months of the season as numbers, such as [11, 12, 1]"},
		{"month 13", "months: [10,", "months: [13,", "target.months: expected months from 1 to 12, found 13"},
		{"month twice", "months: [10,", "months: [11,", "target.months: month 11 is listed twice"},
		{"season in July", "\nseason:\n  months: [10,", "\nseason:\n  months: [7, 10,", "season.months: month 7 is not among target.months, [10 11 12 1 2 3 4 5]"},
		{"frost of no day", "within_days: 14", "within_days: 0", "season.freeze.within_days: expected 1 to 120 days, found 0"},
		{"rain of neither kind", "    rain_at_least_mm: 5\n    melt_at_least_mm: 25\n", "", "season.wet.rain_at_least_mm: missing; give rain_at_least_mm, melt_at_least_mm or both"},
		{"mild above warm", "tmax_at_most_c: 15", "tmax_at_most_c: 3", "season.cool.tmax_at_most_c: 3 lies below mild.tmax_at_least_c, 4: no day would ever do"},
		{"season's unknown key", "bridge_days:", "bridges:", `season.window.bridges: unknown key; known here: bridge_days, least_days`},
		{"no poison line", `poison_line: "1-800-222-1222"`, `poison_line: " "`, "help.poison_line: missing"},
		{"curve twice", "- name: usa", "- name: appalachian-highlands", "curves[1].name: a curve called appalachian-highlands is there already"},
		{"default curve unknown", "curve: northeast", "curve: north-east", `curve: "north-east" is not known; did you mean "northeast"?`},
		{"curve in furlongs", "units: m-km2", "units: furlong", `curves[0].units: "furlong" is not known; known here: m-km2, ft-mi2`},
		{"curve falls", "b: 0.287", "b: -0.287", "curves[0].b: expected 0 to 1, found -0.287"},
		{"range upside down", "range: [0.08, 940]", "range: [940, 0.08]", "curves[0].range: expected the smallest and the largest area, found [940 0.08]"},
		{"weight above zero", "weight_r: {value: -", "weight_r: {value: ", "is above zero, so that higher or steeper ground would count as more of a bottom; give zero or less"},
		{"sizes out of order", "sizes_km2: [", "sizes_km2: [99999, ", "bottomland.sizes_km2: sizes must rise, found "},
		{"too many sizes", "sizes_km2: [", "sizes_km2: [0.1, 0.5, ", "bottomland.sizes_km2: 5 sizes, more than the 4 allowed"},
		{"no doubt at all", "sd: ", "sd: -", "bottomland.intercept.sd: expected 0.001 to 50, found -"},
		{"threshold above one", "threshold: 0.", "threshold: 6.", "suitability.threshold: expected 0.01 to 1, found 6."},
		{"cover group missing", "  shrub: 0.3\n", "", "cover: the cover group shrub is missing"},
		{"cover group unknown", "  shrub: 0.3\n", "  shrub: 0.3\n  shrubs: 0.3\n", `cover.shrubs: "shrubs" is not known; did you mean "shrub"?`},
		{"cover above one", "  shrub: 0.3\n", "  shrub: 30\n", "cover.shrub: expected 0 to 1, found 30"},
		{"host's cover unknown", "cover: {shrub: 0.5,", "cover: {brush: 0.5,", `hosts[5].cover.brush: "brush" is not known; `},
		{"host twice", "id: slippery-elm", "id: american-elm", "hosts[1].id: a host called american-elm is there already"},
		{"species twice", "fia: 975", "fia: 972", "hosts[1].fia: code 972 is that of american-elm already"},
		{"wetland region", "{EMP: OBL,", "{EPM: OBL,", `hosts[5].wetland.EPM: "EPM" is not known; did you mean "EMP"?`},
		{"wetland status", "{EMP: OBL,", "{EMP: WET,", `hosts[5].wetland.EMP: "WET" is not known; known here: OBL, FACW, FAC, FACU, UPL`},
		{"dead share in percent", "dead_share: 0.22", "dead_share: 22", "hosts[1].dead_share: expected 0 to 1, found 22"},
		{"more hits than trees", "{hits: 3, of: 40", "{hits: 40, of: 40", "hosts[0].hit_rate.hits: expected more than 0 and fewer than 40 trees, found 40; for a tree never seen to carry write 0.5"},
		{"curve turns back", "[0.2, 0.2], [0.5, 0.6]", "[0.5, 0.2], [0.5, 0.6]", "hosts[0].bottomland[2]: x must rise from point to point, found 0.5 after 0.5"},
		{"curve of one point", "bottomland: [[0, 0.5], [0.5, 0.7], [0.8, 0.7], [1, 0.6]]", "bottomland: [[0, 0.5]]", "hosts[10].bottomland: a curve needs at least two points [x, y], found 1"},
		{"point of three", "[0.8, 0.7]", "[0.8, 0.7, 1]", "hosts[10].bottomland[2]: expected 2 values, found 3"},
		{"response above one", "[0.8, 0.7]", "[0.8, 7]", "hosts[10].bottomland[2][1]: expected 0 to 1, found 7"},
		{"unknown key", "kin: elm", "kind: elm", `hosts[0].kind: unknown key; did you mean "kin"?`},
		{"density doubted too much", "density_cv: 0.6", "density_cv: 60", "density_cv: expected 0 to 3, found 60"},
		{"winter clause too long", `winter: "rough`, `winter: "` + strings.Repeat("rough ", 9) + "rough", "hosts[1].winter: expected one clause of at most 110 characters, found 124"},
		{"winter clause of two", `winter: "rough grey twigs,`, `winter: "rough grey twigs;`, "hosts[1].winter: expected one clause with neither full stop nor semicolon, found \"rough grey twigs; "},
		{"no hosts", "\nhosts:", "\nhosts: []\nextra:", `extra: unknown key; known here: name, `},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(string(data), c.old, c.new, 1)
			if text == string(data) {
				t.Fatalf("the built-in profile does not hold %q", c.old)
			}
			_, err := ParseProfile("p.yaml", []byte(text))
			if err == nil {
				t.Fatal("accepted")
			}
			if got := err.Error(); !strings.HasPrefix(got, "p.yaml:") || !strings.Contains(got, c.want) {
				t.Errorf("error\n got %s\nwant %s", got, c.want)
			}
			line := 1 + strings.Count(string(data)[:strings.Index(string(data), c.old)], "\n")
			if c.new != "" && c.name != "no hosts" && c.name != "season in July" && !strings.HasPrefix(c.old, "  shrub") && !strings.HasPrefix(err.Error(), "p.yaml:"+itoa(line)+":") {
				t.Errorf("error does not stand on line %d: %v", line, err)
			}
		})
	}
}

func itoa(n int) string { b, _ := json.Marshal(n); return string(b) }

func TestLoadProfileByName(t *testing.T) {
	if _, err := LoadProfile("elm-bottom"); err == nil || !strings.Contains(err.Error(), `did you mean "elm-bottoms"?`) {
		t.Errorf("slip in a name: %v", err)
	}
	if _, err := LoadProfile("none/elm-bottoms.yaml"); err == nil {
		t.Error("a path that leads nowhere is accepted")
	}
}

func TestSeason(t *testing.T) {
	p := builtin(t)
	for month, want := range map[int]bool{12: true, 1: true, 7: false, 8: false} {
		if p.InSeason(month) != want {
			t.Errorf("month %d in season: %v", month, !want)
		}
	}
}
