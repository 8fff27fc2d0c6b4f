package field

import (
	"context"
	"encoding/json"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"rillwood/internal/judges"
)

func trip() []Record {
	rows := []Record{row("a", 12, 1), row("a", 4, 0), row("b", 0, 0), row("c", 1, 0), row("c", 1, 0)}
	rows[1].Host, rows[1].Note = "green-ash", `=1+2, "quoted"`
	rows[2].AccuracyM, rows[2].Candidate, rows[2].Run, rows[2].Observer = 12.5, 7, "0123456789ab", "@AB"
	Identify(rows)
	return rows
}

func TestExportsAreTheSameTripWhenRead(t *testing.T) {
	for _, name := range []string{"out.csv", "out.geojson"} {
		path := filepath.Join(t.TempDir(), name)
		if err := Export(path, trip(), ExportOptions{}); err != nil {
			t.Fatal(err)
		}
		in, err := Read(context.Background(), path, options())
		if err != nil || len(in.Problems) > 0 || len(in.Notes) > 0 {
			t.Fatal(err, in)
		}
		if diff := cmp.Diff(trip(), in.Records, ignore, cmpopts.IgnoreFields(Record{}, "Flags")); diff != "" {
			t.Errorf("%s:\n%s", name, diff)
		}
	}
}

func TestExportsPleaseOtherReaders(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"out.geojson", "out.gpx"} {
		if err := Export(filepath.Join(dir, name), trip(), ExportOptions{}); err != nil {
			t.Fatal(err)
		}
	}
	judges.Quiet(t, filepath.Join(dir, "out.geojson"), filepath.Join(dir, "out.gpx"))
}

// The csv module of Python reads what is written, and no cell of it begins
// like a formula but numbers (OWASP, CSV Injection).
func TestCSVAgainstPython(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here: its csv module is not asked")
	}
	dir := t.TempDir()
	out := filepath.Join(dir, "out.csv")
	if err := Export(out, trip(), ExportOptions{}); err != nil {
		t.Fatal(err)
	}
	s := open(t, filepath.Join(dir, "store"))
	add(t, s, trip(), 5, 0)
	for _, path := range []string{out, s.Path()} {
		answer, err := exec.Command(python, "-c", "import csv, json, sys; print(json.dumps(list(csv.reader(open(sys.argv[1], newline='', encoding='utf-8'), strict=True))))", path).Output()
		if err != nil {
			t.Fatal(err)
		}
		var table [][]string
		if err := json.Unmarshal(answer, &table); err != nil || len(table) != 6 {
			t.Fatalf("%d lines: %v", len(table), err)
		}
		seen := 0
		for _, line := range table {
			if len(line) != len(table[0]) {
				t.Errorf("%d fields, want %d: %q", len(line), len(table[0]), line)
			}
			for _, f := range line {
				if strings.HasPrefix(f, "'") {
					seen++
				}
				if f != "" && strings.ContainsAny(f[:1], "=+@") || strings.HasPrefix(f, "-") && f != "-87.02" {
					t.Errorf("a formula leaves: %q", f)
				}
			}
		}
		if seen != 2 {
			t.Errorf("%d guarded texts, want 2", seen)
		}
	}
}

func TestGuardIsTakenBack(t *testing.T) {
	for s, want := range map[string]string{"=1": "'=1", "'=1": "''=1", "-x": "'-x", "＝1": "'＝1", "it's": "it's", "'quoted'": "'quoted'", "": "", "a=b": "a=b", "'": "'"} {
		if got := guard(s); got != want {
			t.Errorf("%q: %q, want %q", s, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringMatching(`['=+@\-＝a ]{0,6}`).Draw(t, "text")
		if got := unguard(guard(s)); got != s {
			t.Fatalf("%q came back as %q", s, got)
		}
	})
}

func TestCleanLeavesOneLine(t *testing.T) {
	for s, want := range map[string]string{"a\r\n\tb": "a b", " \x00x\x1b[31m": "x [31m", "a\u202eb": "a b", "\xff": "\ufffd", strings.Repeat("é", 2000): strings.Repeat("é", 1000)} {
		if got := Clean(s); got != want {
			t.Errorf("%q: %q, want %q", clipped(s), clipped(got), clipped(want))
		}
		if Clean(Clean(s)) != Clean(s) {
			t.Errorf("%q: cleaned twice is not the same", clipped(s))
		}
	}
}

// A blurred place lies in the middle of a cell about as large as told, all
// places of which come out there; distances by the haversine formula.
func TestBlur(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.Float64Range(minBlur, maxBlur).Draw(t, "metres")
		p := orb.Point{rapid.Float64Range(-180, 180).Draw(t, "lon"), rapid.Float64Range(-85, 85).Draw(t, "lat")}
		b := Blur(p, m)
		if Blur(b, m) != b {
			t.Fatalf("%v blurs to %v, that to %v", p, b, Blur(b, m))
		}
		if !onGlobe(b[0], b[1]) {
			t.Fatalf("%v is off the globe", b)
		}
		// Cells are at most a few parts in a hundred wider than told, where the
		// globe holds a dozen around or more.
		if cells := 360 * metresPerDegree * math.Cos(b[1]*math.Pi/180) / m; cells > 50 {
			if d := metresApart(p, b); d > m*math.Sqrt2/2*1.06 {
				t.Fatalf("%v moved %.1f m by a blur of %.1f m", p, d, m)
			}
		}
	})
	// Of many places within one cell's reach few points are left.
	points := map[orb.Point]bool{}
	for i := range 400 {
		points[Blur(orb.Point{-87.02 + float64(i%20)*0.0005, 43.31 + float64(i/20)*0.0004}, 2000)] = true
	}
	if len(points) > 4 {
		t.Errorf("0.8 km square blurs to %d points by cells of 2 km", len(points))
	}
}

func TestBlurredExportTellsNoPlace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "out.csv")
	if err := Export(path, trip(), ExportOptions{BlurM: 2000, NoNotes: true}); err != nil {
		t.Fatal(err)
	}
	text := string(bytesOf(t, path))
	for _, s := range []string{"-87.02,", "43.31,", "0123456789ab", "quoted", "AB", ",7,"} {
		if strings.Contains(text, s) {
			t.Errorf("%q leaves in %s", s, text)
		}
	}
	if !strings.Contains(text, "stop-1,") || !strings.Contains(text, ",1415,") {
		t.Errorf("stops and accuracy: %s", text)
	}
	for _, m := range []float64{-1, 5, 1e6, math.NaN(), math.Inf(1)} {
		if err := Export(path, trip(), ExportOptions{BlurM: m}); err == nil {
			t.Errorf("a blur of %g m was taken", m)
		}
	}
	if err := Export("out.xlsx", trip(), ExportOptions{}); err == nil {
		t.Error("an ending that is not known was taken")
	}
}
