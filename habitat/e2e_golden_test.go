package habitat

import (
	"encoding/json"
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden results anew")

// Each folder of testdata/golden holds a survey, its layers, and in want/ what
// a run gives.
func TestGolden(t *testing.T) {
	surveys, err := filepath.Glob("testdata/golden/*/survey.yaml")
	if err != nil || len(surveys) == 0 {
		t.Fatalf("no golden case: %v", err)
	}
	for _, file := range surveys {
		dir := filepath.Dir(file)
		t.Run(filepath.Base(dir), func(t *testing.T) {
			s, err := LoadSurvey(file)
			if err != nil {
				t.Fatal(err)
			}
			r := mapped(t, s)
			for _, name := range []string{recordName, "shortlist.geojson"} {
				got := goldenPart(t, filepath.Join(r.Folder, name))
				want := filepath.Join(dir, "want", name)
				if *update {
					writeGolden(t, want, got)
					continue
				}
				for _, d := range differences("", goldenPart(t, want), got) {
					t.Errorf("%s: %s", name, d)
				}
			}
		})
	}
}

// goldenPart reads a result without what hangs on the version of the program,
// its libraries or its profile's wording.
func goldenPart(t *testing.T, path string) map[string]any {
	t.Helper()
	var v map[string]any
	readJSON(t, path, &v)
	for _, key := range []string{"software", "run", "profile"} {
		delete(v, key)
	}
	return v
}

func writeGolden(t *testing.T, path string, v any) {
	t.Helper()
	data, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, append(data, '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
}

// differences lists where two JSON values part: numbers by more than one in a
// million, which other versions of GDAL and PROJ are allowed; in degrees that
// would be metres, so positions may differ by no more than 2e-7 degrees (2 cm).
func differences(at string, want, got any) []string {
	switch w := want.(type) {
	case map[string]any:
		g, ok := got.(map[string]any)
		if !ok {
			break
		}
		var out []string
		if a, b := slices.Sorted(maps.Keys(w)), slices.Sorted(maps.Keys(g)); !slices.Equal(a, b) {
			out = append(out, fmt.Sprintf("%s: keys %v, want %v", at, b, a))
		}
		for _, k := range slices.Sorted(maps.Keys(w)) {
			out = append(out, differences(at+"."+k, w[k], g[k])...)
		}
		return out
	case []any:
		g, ok := got.([]any)
		if !ok || len(w) != len(g) {
			return []string{fmt.Sprintf("%s: %d entries, want %d", at, len(g), len(w))}
		}
		var out []string
		for i := range w {
			out = append(out, differences(fmt.Sprintf("%s[%d]", at, i), w[i], g[i])...)
		}
		return out
	case float64:
		if g, ok := got.(float64); ok && closeEnough(at, w, g) {
			return nil
		}
	default:
		if want == got {
			return nil
		}
	}
	return []string{fmt.Sprintf("%s: %v, want %v", at, got, want)}
}

func closeEnough(at string, want, got float64) bool {
	if strings.Contains(at, ".coordinates[") || strings.Contains(at, ".bbox[") {
		return math.Abs(got-want) <= 2e-7
	}
	return math.Abs(got-want) <= 1e-6*math.Max(1e-3, math.Abs(want))
}

// The comparison itself must see what matters.
func TestDifferences(t *testing.T) {
	read := func(text string) (v any) {
		if err := json.Unmarshal([]byte(text), &v); err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct {
		want, got string
		n         int
	}{
		{`{"a":[1,2,{"b":"x"}]}`, `{"a":[1,2,{"b":"x"}]}`, 0},
		{`{"a":1000000}`, `{"a":1000000.5}`, 0},
		{`{"a":1000000}`, `{"a":1000002}`, 1},
		{`{"a":0}`, `{"a":0.001}`, 1},
		{`{"a":1}`, `{"a":null}`, 1},
		{`{"a":null}`, `{"a":1}`, 1},
		{`{"a":[1]}`, `{"a":[1,2]}`, 1},
		{`{"a":1}`, `{"b":1}`, 2},
		{`{"coordinates":[78.1234567]}`, `{"coordinates":[78.1234568]}`, 0},
		{`{"coordinates":[78.1234567]}`, `{"coordinates":[78.1234570]}`, 1},
		{`{"a":"x"}`, `{"a":["x"]}`, 1},
	} {
		if d := differences("", read(c.want), read(c.got)); len(d) != c.n {
			t.Errorf("%s against %s: %q, want %d differences", c.got, c.want, d, c.n)
		}
	}
}
