package pack

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"rillwood/habitat/results"
)

func madeCSV(t testing.TB, run *results.Run) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), csvName)
	if err := writeCSV(path, run, all(run)); err != nil {
		t.Fatal(err)
	}
	return path
}

func table(t testing.TB, path string) (rows []map[string]string, head []string) {
	t.Helper()
	lines, err := csv.NewReader(strings.NewReader(read(t, path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines[1:] {
		row := map[string]string{}
		for i, k := range lines[0] {
			row[k] = l[i]
		}
		rows = append(rows, row)
	}
	return rows, lines[0]
}

func TestCSVGolden(t *testing.T) {
	golden(t, madeCSV(t, madeRun(t)))
}

func TestCSVHoldsWhatTheRunTells(t *testing.T) {
	run := madeRun(t)
	rows, _ := table(t, madeCSV(t, run))
	if len(rows) != 3 {
		t.Fatalf("%d rows", len(rows))
	}
	for k, want := range map[string]string{
		"rank": "1", "stream": "Shalecote Brook", "area_ha": "3.29", "expected_finds_high": "8.944", "trees_to_check_95": "39", "holds_that_many": "1",
		"trees": "American elm 99 (24 to 213); Boxelder 13 (? to ?)", "cover": "wooded wetland", "evidence": "flood zones: zone A; geology: alluvium",
		"walk_m": "1212", "water_crossings": "1", "start": "Fernmoor Parking", "lon": "-87.020123", "lat": "43.350124", "outside_drainage_share": "0",
	} {
		if rows[0][k] != want {
			t.Errorf("%s: %q, want %q", k, rows[0][k], want)
		}
	}
	for k, v := range rows[2] {
		switch known := map[string]string{"rank": "104", "learning_visit": "1", "holds_that_many": "0", "lon": "-87.03", "lat": "43.34",
			"access_note": "not known: ask the owner first", "walk_note": "no path or road leads near", "caution": shortSafety(run)}; {
		case v != known[k]:
			t.Errorf("of a patch of which nothing is known, %s: %q, want %q", k, v, known[k])
		}
	}
}

// RFC 4180: every line ends in CR LF, and no cell holds a line break.
func TestCSVLines(t *testing.T) {
	text := read(t, madeCSV(t, madeRun(t)))
	if strings.Count(text, "\r\n") != 4 || strings.Count(text, "\n") != 4 || strings.Count(text, "\r") != 4 {
		t.Errorf("line ends are not CR LF alone:\n%q", text)
	}
}

// No text of any run begins like a formula (OWASP, CSV Injection), and each
// comes back whole.
func TestCSVDisarmsAnyText(t *testing.T) {
	run := madeRun(t)
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.OneOf(rapid.String(), rapid.StringMatching(`[ '\t\r\n]{0,2}['=+\-@＝＋－＠|,;"a]{0,6}`)).Draw(rt, "text")
		run.Candidates[0].Why = text
		rows, _ := table(t, madeCSV(t, run))
		got := rows[0]["why"]
		if got != "" && strings.ContainsRune("=+-@\t\r\n＝＋－＠", []rune(got)[0]) {
			rt.Fatalf("%q begins like a formula", got)
		}
		if t := strings.TrimLeft(got, "'"); t != got && strings.ContainsRune("=+-@＝＋－＠", ([]rune(t + " "))[0]) {
			got = got[1:]
		}
		if got != plain(text) {
			rt.Fatalf("%q came back as %q", text, got)
		}
	})
	for s, want := range map[string]string{"=1": "'=1", "'=1": "''=1", "＝1": "'＝1", "it's": "it's", "": "", "a=b": "a=b", "'": "'"} {
		if got := disarmed(s); got != want {
			t.Errorf("%q: %q, want %q", s, got, want)
		}
	}
}

// Two readers from outside: Python's csv module takes the same cells from it,
// and GDAL makes points of the columns lon and lat.
func TestCSVAgainstPython(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here: its csv module is not asked")
	}
	path := madeCSV(t, madeRun(t))
	out, err := exec.Command(python, "-c", "import csv, json, sys; print(json.dumps(list(csv.reader(open(sys.argv[1], newline='', encoding='utf-8'), strict=True))))", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	var theirs [][]string
	if err := json.Unmarshal(out, &theirs); err != nil {
		t.Fatal(err)
	}
	ours, err := csv.NewReader(strings.NewReader(read(t, path))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(ours, theirs); d != "" {
		t.Errorf("Python reads another table:\n%s", d)
	}
}

func TestCSVAgainstGDAL(t *testing.T) {
	run := madeRun(t)
	rows := geojson(t, madeCSV(t, run), "-oo", "X_POSSIBLE_NAMES=lon", "-oo", "Y_POSSIBLE_NAMES=lat", "-oo", "AUTODETECT_TYPE=YES")
	if len(rows) != 3 {
		t.Fatalf("%d rows", len(rows))
	}
	for i, f := range rows {
		c := run.Candidates[i]
		var at orb.Point
		if err := json.Unmarshal(f.Geometry.Coordinates, &at); err != nil {
			t.Fatal(err)
		}
		near(t, idOf(&c), at, orb.Point{c.Lon, c.Lat})
		if f.Properties["rank"] != float64(c.Rank) || (f.Properties["area_ha"] == nil) != math.IsNaN(c.AreaHa) {
			t.Errorf("row %d: %v", i, f.Properties)
		}
	}
}

// Columns are named once, each with a meaning, and figures of all kinds become
// what the table tells of their kind.
func TestColumns(t *testing.T) {
	run := madeRun(t)
	seen := map[string]bool{}
	for i, k := range columns(run) {
		if seen[k.name] || i == 0 && k.means == "" {
			t.Errorf("%s: twice, or the first without a meaning", k.name)
		}
		seen[k.name] = true
		for _, c := range all(run) {
			v := k.of(c)
			ok := false
			switch k.kind {
			case "Integer64":
				_, ok = v.(int)
				ok = ok || v == nil
			case "Real":
				_, ok = v.(float64)
			case "String":
				_, ok = v.(string)
			}
			if !ok {
				t.Errorf("%s of patch %d is %T, want %s", k.name, c.Rank, v, k.kind)
			}
		}
	}
	if got := cell(real(6, func(*results.Candidate) float64 { return -1e-9 })(nil)); got != "0" {
		t.Errorf("next to nothing is written %q", got)
	}
	if got := cell(math.Inf(1)); got != "" {
		t.Errorf("infinity is written %q", got)
	}
	if v, err := strconv.ParseFloat(cell(1e-7), 64); err != nil || v != 1e-7 {
		t.Errorf("1e-7: %v, %v", v, err)
	}
}
