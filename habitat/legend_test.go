package habitat

import (
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

func named(t testing.TB, name string) *Legend {
	t.Helper()
	l, err := LoadLegend(name)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Codes and names: MRLC legend (2001–2021), ESA WorldCover product legend,
// CORINE level-3 nomenclature with its raster grid codes.
func TestLegendsAgreeWithThePublishedOnes(t *testing.T) {
	var file struct {
		US struct {
			Classes map[string][2]string `json:"classes"`
			Alaska  map[string]string    `json:"alaska_only"`
		} `json:"nlcd"`
		World  map[string]any    `json:"worldcover_2021"`
		Corine map[string]string `json:"corine_level3"`
		Grid   map[string]int    `json:"corine_grid_code"`
	}
	readCase(t, "legends", &file)
	check := func(l *Legend, code, name string) {
		t.Helper()
		n, err := strconv.Atoi(code)
		if err != nil {
			t.Fatal(err)
		}
		slot, ok := l.Slot(n)
		c, known := l.Class(slot)
		if !ok || !known || c.Name != name {
			t.Errorf("%s code %s: got %q, published %q", l.Name, code, c.Name, name)
		}
	}
	us := named(t, "us-30m")
	for code, c := range file.US.Classes {
		check(us, code, c[0])
	}
	for code, name := range file.US.Alaska {
		check(us, code, name)
	}
	if want := len(file.US.Classes) + len(file.US.Alaska); len(us.Classes) != want {
		t.Errorf("us-30m has %d classes, published %d", len(us.Classes), want)
	}
	world := named(t, "world-10m")
	for code, v := range file.World {
		if c, ok := v.([]any); ok {
			check(world, code, c[0].(string))
		}
	}
	if len(world.Classes) != 11 {
		t.Errorf("world-10m has %d classes, published 11", len(world.Classes))
	}
	corine := named(t, "corine")
	for code, name := range file.Corine {
		check(corine, code, name)
		n, _ := strconv.Atoi(code)
		byClass, _ := corine.Slot(n)
		byGrid, ok := corine.Slot(file.Grid[code])
		if !ok || byClass != byGrid {
			t.Errorf("corine: class %s in slot %d, its grid code %d in slot %d", code, byClass, file.Grid[code], byGrid)
		}
	}
	if len(corine.Classes) != 44 {
		t.Errorf("corine has %d classes, published 44", len(corine.Classes))
	}
	for i, c := range corine.Classes {
		if c.Code != i+1 || c.Also <= 110 || i > 0 && c.Also <= corine.Classes[i-1].Also {
			t.Errorf("corine: class %d has code %d and %d; both rise", i, c.Code, c.Also)
		}
	}
}

// The rule of the product: no patch on developed ground, water or ice.
func TestNoPatchOnDevelopedGroundOrWater(t *testing.T) {
	barred := []CoverGroup{ParkLike, BuiltLow, Built, Water, Ice}
	for _, name := range LegendNames() {
		for _, c := range named(t, name).Classes {
			if got, want := c.Cover == 0, slices.Contains(barred, c.Group); got != want {
				t.Errorf("%s: %s (%s) has cover factor %g", name, c.Name, c.Group, c.Cover)
			}
		}
	}
	for _, code := range []int{11, 21, 22, 23, 24} {
		us := named(t, "us-30m")
		slot, _ := us.Slot(code)
		if c, _ := us.Class(slot); c.Cover != 0 {
			t.Errorf("us-30m code %d has cover factor %g", code, c.Cover)
		}
	}
}

func TestLegendGroupsAreWellKnown(t *testing.T) {
	p := builtin(t)
	for _, g := range CoverGroups() {
		if w := g.Words(); w == "" || strings.Contains(w, "_") {
			t.Errorf("%s has no words: %q", g, w)
		}
		if v := g.DefaultCover(); v < 0 || v > 1 {
			t.Errorf("%s has cover factor %g", g, v)
		}
		if _, ok := p.Cover[g]; !ok {
			t.Errorf("%s has no response in the built-in profile", g)
		}
	}
}

func TestUnknownCodes(t *testing.T) {
	l := named(t, "us-30m")
	counts := map[int]int64{90: 10, 0: 3, 99: 7, -1: 2, 41: 0, 300: 0}
	_, err := l.Check(counts, "stop")
	want := "landcover.legend: codes -1 (2 cells), 99 (7 cells) not in the legend us-30m; name another legend (us-30m, world-10m, corine, or a CSV), or set landcover.unknown: neutral"
	if err == nil || err.Error() != want {
		t.Errorf("error\n got %v\nwant %s", err, want)
	}
	warning, err := l.Check(counts, "neutral")
	if want := "land cover: codes -1 (2 cells), 99 (7 cells) not in the legend us-30m; taken as neutral"; err != nil || warning != want {
		t.Errorf("warning\n got %s (%v)\nwant %s", warning, err, want)
	}
	if w, err := l.Check(map[int]int64{11: 1, 255: 4}, "stop"); w != "" || err != nil {
		t.Errorf("known codes: %q, %v", w, err)
	}
	many := map[int]int64{}
	for c := 1000; c < 2000; c++ {
		many[c] = 1
	}
	if _, err := l.Check(many, "stop"); err == nil || !strings.Contains(err.Error(), "1007 (1 cells), and 992 more") {
		t.Errorf("many unknown codes: %v", err)
	}
}

func TestGuessLegend(t *testing.T) {
	for _, c := range []struct {
		name  string
		codes []int
		want  string // legend, or part of the error
	}{
		{"US woods and fields", []int{0, 11, 21, 41, 81, 82, 90}, "us-30m"},
		{"world", []int{10, 30, 40, 50, 80, 90}, "world-10m"},
		{"CORINE grid codes", []int{2, 12, 18, 23, 24, 40}, "corine"},
		{"CORINE classes", []int{112, 211, 231, 311, 512}, "corine"},
		{"codes of two", []int{11, 23, 41}, "fit us-30m and corine alike"},
		{"codes of none", []int{7, 77}, "fit no named legend"},
	} {
		t.Run(c.name, func(t *testing.T) {
			counts := map[int]int64{66: 0}
			for _, code := range c.codes {
				counts[code] = 5
			}
			l, err := GuessLegend(counts)
			if err != nil {
				if !strings.Contains(err.Error(), c.want) {
					t.Errorf("got %v, want %s", err, c.want)
				}
			} else if l.Name != c.want {
				t.Errorf("got %s, want %s", l.Name, c.want)
			}
		})
	}
}

func TestLegendFromCSV(t *testing.T) {
	file := filepath.Join(t.TempDir(), "mine.csv")
	text := "\xef\xbb\xbf# county map\nName, Code ,group,cover\n\"woods, wet\",70001,wooded_wetland,\nlake,70002,water,\nlawn,5,park_like,0.5\nnone,-9,nodata,\n"
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	l := named(t, file)
	want := []Class{
		{Code: 5, Name: "lawn", Group: ParkLike, Cover: 0.5, Slot: 0},
		{Code: 70001, Name: "woods, wet", Group: WoodedWetland, Cover: 1, Slot: 1},
		{Code: 70002, Name: "lake", Group: Water, Cover: 0, Slot: 2},
	}
	if !slices.Equal(l.Classes, want) {
		t.Errorf("classes\n got %+v\nwant %+v", l.Classes, want)
	}
	wantSlots := map[int]uint8{5: 0, 70001: 1, 70002: 2, -9: NoClass}
	if !maps.Equal(l.slots, wantSlots) {
		t.Errorf("slots: got %v, want %v", l.slots, wantSlots)
	}
	if c, ok := l.Class(NoClass); ok || c.Group != Unknown {
		t.Errorf("no class: got %+v, %v", c, ok)
	}
}

func TestLegendMistakes(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "l.csv: empty; the first line names the columns code,name,group,cover"},
		{"no classes", "code,name,group\n0,none,nodata\n", "l.csv: no classes"},
		{"no group", "code,name\n1,a\n", "l.csv:1: column group is missing; the first line names the columns code,name,group,cover"},
		{"unknown column", "code,name,groop\n", `l.csv:1: column: "groop" is not known; did you mean "group"?`},
		{"column twice", "code,name,group,name\n", "l.csv:1: column name is there twice"},
		{"code in words", "code,name,group\none,a,crop\n", `l.csv:2: code: expected a whole number, found "one"`},
		{"code twice", "code,name,group\n1,a,crop\n1,b,crop\n", "l.csv:3: code: 1 is there already"},
		{"second code twice", "code,also,name,group\n1,,a,crop\n2,1,b,crop\n", "l.csv:3: also: 1 is there already"},
		{"unknown group", "code,name,group\n# remark\n1,a,forest\n", `l.csv:3: group: "forest" is not known; known here: wooded_wetland, `},
		{"slip in a group", "code,name,group\n1,a,brodleaf\n", `l.csv:2: group: "brodleaf" is not known; did you mean "broadleaf"?`},
		{"no name", "code,name,group\n1,,crop\n", "l.csv:2: name: empty for code 1"},
		{"cover in percent", "code,name,group,cover\n1,a,crop,50\n", `l.csv:2: cover: expected a number from 0 to 1, found "50"`},
		{"cover not a number", "code,name,group,cover\n1,a,crop,NaN\n", `l.csv:2: cover: expected a number from 0 to 1, found "NaN"`},
		{"comma in a name", "code,name,group\n1,a,b,crop\n", "l.csv:2: 4 fields under 3 columns; put quotes around a name that holds a comma"},
		{"open quote", "code,name,group\n1,\"a,crop\n", "l.csv:2:"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ParseLegend("l.csv", []byte(c.text))
			if err == nil || !strings.HasPrefix(err.Error(), c.want) {
				t.Errorf("error\n got %v\nwant %s", err, c.want)
			}
		})
	}
	if _, err := LoadLegend("us-30"); err == nil || !strings.Contains(err.Error(), `did you mean "us-30m"?`) {
		t.Errorf("slip in a name: %v", err)
	}
}

// Source of the codes: feature catalogue of the National Hydrography Dataset.
func TestStreamCodes(t *testing.T) {
	for code, want := range map[int]bool{
		46000: true, 46003: true, 46006: true, 46007: true, 55800: true, 33400: true, 33600: false, 33603: false,
		33601: false, 42000: false, 42003: false, 42800: false, 42813: false, 56600: false, 99999: true,
	} {
		if got := KeepStream(code); got != want {
			t.Errorf("code %d kept: %v", code, got)
		}
	}
	var file struct {
		Flowline map[string]string `json:"nhd_fcode_flowline"`
	}
	readCase(t, "legends", &file)
	for code := range file.Flowline {
		n, _ := strconv.Atoi(code)
		if c, ok := LookupStreamCode(n); !ok || c.Code != n || c.Why == "" {
			t.Errorf("published code %s: got %+v, %v", code, c, ok)
		}
	}
}
