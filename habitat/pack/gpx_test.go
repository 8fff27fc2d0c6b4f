package pack

import (
	"encoding/json"
	"encoding/xml"
	"flag"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"rillwood/habitat/field"
	"rillwood/habitat/results"
	"rillwood/internal/judges"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares a file with the one kept in testdata.
func golden(t *testing.T, path string) {
	t.Helper()
	kept := filepath.Join("testdata", "golden", filepath.Base(path))
	if *update {
		if err := os.MkdirAll(filepath.Dir(kept), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(kept, []byte(read(t, path)), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if d := cmp.Diff(strings.Split(read(t, kept), "\n"), strings.Split(read(t, path), "\n")); d != "" {
		t.Errorf("%s (-want +got); go test -update writes it anew:\n%s", kept, d)
	}
}

func madeGPX(t testing.TB, run *results.Run) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), waypointsName)
	if err := writeGPX(path, run, all(run)); err != nil {
		t.Fatal(err)
	}
	return path
}

// parsed reads GPX as any XML reader would, which must find nothing wrong.
func parsed(t interface{ Fatalf(string, ...any) }, text string) gpx {
	var g gpx
	if err := xml.Unmarshal([]byte(text), &g); err != nil {
		t.Fatalf("no XML: %v\n%s", err, text)
	}
	return g
}

// valid asks xmllint, by the schema of GPX 1.1.
func valid(t *testing.T, paths ...string) {
	t.Helper()
	tool, err := exec.LookPath("xmllint")
	if err != nil {
		t.Skip("no xmllint here: GPX is not held against its schema")
	}
	out, err := exec.Command(tool, append([]string{"--nonet", "--noout", "--schema", "testdata/gpx-1.1.xsd"}, paths...)...).CombinedOutput()
	if err != nil {
		t.Errorf("not valid: %v\n%s", err, out)
	}
}

func TestGPXGolden(t *testing.T) {
	path := madeGPX(t, madeRun(t))
	golden(t, path)
	valid(t, path)
}

// What the schema must refuse; else it would prove nothing.
func TestSchemaFindsFault(t *testing.T) {
	tool, err := exec.LookPath("xmllint")
	if err != nil {
		t.Skip("no xmllint here")
	}
	good := read(t, madeGPX(t, madeRun(t)))
	for name, change := range map[string][2]string{
		"order":     {"<sym>Forest</sym>\n  <type>patch</type>", "<type>patch</type><sym>Forest</sym>"},
		"latitude":  {`lat="43.350124"`, `lat="91"`},
		"longitude": {`lon="-87.020123"`, `lon="180"`},
		"missing":   {`lon="-87.020123"`, ``},
		"version":   {`version="1.1"`, `version="1.0"`},
		"creator":   {` creator="Rillwood 0.1.0"`, ""},
		"element":   {"<cmt>", "<note/><cmt>"},
		"namespace": {"topografix.com/GPX/1/1", "topografix.com/GPX/1/0"},
	} {
		bad := strings.Replace(good, change[0], change[1], 1)
		if bad == good {
			t.Errorf("%s: nothing to change", name)
			continue
		}
		path := filepath.Join(t.TempDir(), "bad.gpx")
		if err := os.WriteFile(path, []byte(bad), 0o644); err != nil {
			t.Fatal(err)
		}
		if exec.Command(tool, "--nonet", "--noout", "--schema", "testdata/gpx-1.1.xsd", path).Run() == nil {
			t.Errorf("%s: passes", name)
		}
	}
}

// Names are whole and once, places right to a millionth of a degree, outlines
// closed, and each thing tells the danger, since each may be handed on alone.
func TestGPXHoldsWhatTheRunTells(t *testing.T) {
	run := madeRun(t)
	text := read(t, madeGPX(t, run))
	g := parsed(t, text)
	names := map[string]bool{}
	place := map[string]orb.Point{}
	take := func(name, desc string) {
		t.Helper()
		if names[name] || len(name) > 10 || name == "" {
			t.Errorf("name %q is taken, empty or longer than ten characters", name)
		}
		names[name] = true
		for _, want := range []string{"never what is safe to eat", "deadly brown-spored twin", "Spore print of every cluster", "expert", "nothing raw", "Poison line 555-0100"} {
			if !strings.Contains(desc, want) {
				t.Errorf("%s: %q is missing in %q", name, want, desc)
			}
		}
	}
	for _, p := range g.Points {
		take(p.Name, p.Desc)
		place[p.Name] = orb.Point{float64(p.Lon), float64(p.Lat)}
	}
	for _, r := range g.Routes {
		take(r.Name, r.Desc)
	}
	for _, k := range g.Tracks {
		take(k.Name, k.Desc)
	}
	for _, want := range []string{"RW01", "RW01 IN", "RW01 START", "RW01 WAY", "RW01 EDGE", "RW02", "RW02 IN", "RW02 START", "RW02 EDGE", "RW104", "RW104 EDGE"} {
		if !names[want] {
			t.Errorf("no %s in it", want)
		}
		delete(names, want)
	}
	if len(names) > 0 {
		t.Errorf("more than there is: %v", names)
	}
	for _, c := range all(run) {
		near(t, idOf(c), place[idOf(c)], orb.Point{c.Lon, c.Lat})
		if hasWay(c) {
			near(t, idOf(c)+" IN", place[idOf(c)+" IN"], orb.Point{c.Walk.EntryLon, c.Walk.EntryLat})
			near(t, idOf(c)+" START", place[idOf(c)+" START"], orb.Point{c.Walk.StartLon, c.Walk.StartLat})
		}
	}
	if len(g.Routes) != 1 || len(g.Routes[0].Points) != 3 || len(g.Tracks) != 3 {
		t.Fatalf("ways: %+v; %d outlines", g.Routes, len(g.Tracks))
	}
	if !strings.Contains(g.Routes[0].Desc, run.Candidates[0].Walk.Cautions[0]) {
		t.Errorf("the way lacks its caution: %q", g.Routes[0].Desc)
	}
	for i, p := range g.Routes[0].Points {
		near(t, "way", orb.Point{float64(p.Lon), float64(p.Lat)}, run.Ways[1][i])
	}
	b := g.Metadata.Bounds
	inside := func(p gpxPoint) bool {
		return p.Lat >= b.MinLat && p.Lat <= b.MaxLat && p.Lon >= b.MinLon && p.Lon <= b.MaxLon
	}
	for i, k := range g.Tracks {
		var rings []orb.Ring
		for _, poly := range run.Candidates[i].Shape {
			rings = append(rings, poly...)
		}
		if len(k.Segments) != len(rings) {
			t.Fatalf("%s: %d rings, want %d", k.Name, len(k.Segments), len(rings))
		}
		for j, s := range k.Segments {
			if first, last := s.Points[0], s.Points[len(s.Points)-1]; len(s.Points) != len(rings[j]) || first != last {
				t.Errorf("%s: the outline is open, or lacks corners", k.Name)
				continue
			}
			for n, p := range s.Points {
				near(t, k.Name, orb.Point{float64(p.Lon), float64(p.Lat)}, rings[j][n])
				if !inside(p) {
					t.Errorf("%s lies outside the bounds %+v", k.Name, b)
				}
			}
		}
	}
	for _, p := range g.Points {
		if !inside(p) {
			t.Errorf("%s lies outside the bounds %+v", p.Name, b)
		}
	}
	for _, c := range run.Cautions {
		if !strings.Contains(g.Metadata.Desc, c.Text) {
			t.Errorf("caution %q is missing", c.Key)
		}
	}
	if p := g.Points[len(g.Points)-1]; !strings.Contains(p.Desc, "Access: not known: ask the owner first.") || !strings.Contains(p.Desc, "a learning visit") {
		t.Errorf("of a patch of which nothing is known: %q", p.Desc)
	}
	if p := g.Points[5]; p.Name != "RW02" || !strings.Contains(p.Desc, "Access: private: ask the owner first.") {
		t.Errorf("%s, on private ground: %q", p.Name, p.Desc)
	}
	if strings.Contains(text, "<time>") || strings.Contains(text, "NaN") {
		t.Error("a time or a figure that is none")
	}
}

func near(t *testing.T, what string, got, want orb.Point) {
	t.Helper()
	if !(math.Abs(got[0]-want[0]) <= 1e-6 && math.Abs(got[1]-want[1]) <= 1e-6) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

// Runs that a stranger made: a way without a walk, rings left open, the far
// side of the earth, no name at all.
func TestGPXOfOddRuns(t *testing.T) {
	run := madeRun(t)
	run.Name, run.Software, run.ID, run.Help, run.Cautions = "", "", hostile, results.Help{}, nil
	run.Ways[104] = orb.LineString{{-87, 43}, {-87.1, 43}}
	run.Candidates[0].Walk.Cautions, run.Candidates[0].Walk.StartKind, run.Candidates[0].Walk.Start = nil, "road", ""
	c := &run.Candidates[2]
	c.Lon, c.Lat = 180, -90
	c.Shape = orb.MultiPolygon{{{{179.9999999, 0}, {179, 0}, {179, 1}}, {}}, {}}
	path := madeGPX(t, run)
	g := parsed(t, read(t, path))
	if s := g.Tracks[2].Segments; len(s) != 1 || s[0].Points[0] != s[0].Points[3] {
		t.Errorf("outline: %+v", s)
	}
	if p := g.Points[1]; !strings.Contains(p.Desc, waysAreDrawn) || !strings.Contains(g.Routes[0].Desc, waysAreDrawn) || p.Cmt != "road" || p.Sym != "Car" {
		t.Errorf("a way of which no caution is told: %+v; %q", p, g.Routes[0].Desc)
	}
	if g.Creator != "Rillwood" || g.Metadata.Name != "Scouting map" || len(g.Routes) != 1 {
		t.Errorf("%q, %q, %d ways", g.Creator, g.Metadata.Name, len(g.Routes))
	}
	valid(t, path)
}

// GDAL's GPX reader is the outside judge of the coordinates.
func TestGPXAgainstGDAL(t *testing.T) {
	run := madeRun(t)
	path := madeGPX(t, run)
	judges.Quiet(t, path)
	points := geojson(t, path, "waypoints")
	if len(points) != 7 {
		t.Fatalf("%d waypoints, want 7", len(points))
	}
	want := map[string]orb.Point{}
	for _, c := range all(run) {
		want[idOf(c)] = orb.Point{c.Lon, c.Lat}
	}
	for _, p := range points {
		name, _ := p.Properties["name"].(string)
		if w, ok := want[name]; ok {
			var at orb.Point
			if err := json.Unmarshal(p.Geometry.Coordinates, &at); err != nil {
				t.Fatal(err)
			}
			near(t, name, at, w)
			delete(want, name)
		}
		if p.Properties["sym"] == nil || p.Properties["type"] == nil {
			t.Errorf("%s has no symbol or type", name)
		}
	}
	if len(want) > 0 {
		t.Errorf("not read back: %v", want)
	}
	tracks := geojson(t, path, "tracks")
	if len(tracks) != 3 {
		t.Fatalf("%d tracks, want 3", len(tracks))
	}
	var lines [][]orb.Point
	if err := json.Unmarshal(tracks[0].Geometry.Coordinates, &lines); err != nil || len(lines) != 3 {
		t.Fatalf("%d rings, want 3: %v", len(lines), err)
	}
	shape := run.Candidates[0].Shape
	for i, ring := range []orb.Ring{shape[0][0], shape[0][1], shape[1][0]} {
		for k, p := range ring {
			near(t, "outline", lines[i][k], p)
		}
	}
	if r := geojson(t, path, "routes"); len(r) != 1 || r[0].Properties["name"] != "RW01 WAY" {
		t.Errorf("routes: %+v", r)
	}
}

// feature is what GDAL reads from a file, as GeoJSON.
type feature struct {
	Geometry struct {
		Coordinates json.RawMessage
	}
	Properties map[string]any
}

// geojson asks GDAL's ogr2ogr for a layer in degrees.
func geojson(t *testing.T, args ...string) []feature {
	t.Helper()
	tool, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("no ogr2ogr here: this judge is not heard")
	}
	cmd := exec.Command(tool, append([]string{"-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=9", "/vsistdout/"}, args...)...)
	cmd.Env = environment
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("ogr2ogr %v: %v", args, err)
	}
	var doc struct{ Features []feature }
	if err := json.Unmarshal(out, &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Features
}

// Waypoints of a pack come back with a forager's own, and are no notes of what
// was found.
func TestWaypointsAreNoRecords(t *testing.T) {
	in, err := field.ParseGPX(waypointsName, []byte(read(t, madeGPX(t, madeRun(t)))), field.Options{
		Vocabulary: field.NewVocabulary([]field.Host{{ID: "american-elm", Common: "American elm"}}), Today: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	if len(in.Records) > 0 || len(in.Problems) > 0 || len(in.Notes) == 0 {
		t.Errorf("%d records, problems %v, notes %q", len(in.Records), in.Problems, in.Notes)
	}
}

// Any text, in any place, gives valid XML that reads back as the same text on
// one line.
func TestAnyTextGivesXML(t *testing.T) {
	run := madeRun(t)
	path := filepath.Join(t.TempDir(), "any.gpx")
	rapid.Check(t, func(rt *rapid.T) {
		text := string(rapid.SliceOfN(rapid.Byte(), 0, 12).Draw(rt, "bytes")) + rapid.String().Draw(rt, "text")
		run.Name, run.Candidates[1].Stream = text, text
		if err := writeGPX(path, run, all(run)); err != nil {
			rt.Fatal(err)
		}
		out := read(t, path)
		g := parsed(rt, out)
		if want := plain(text); want != "" && g.Metadata.Name != want {
			rt.Fatalf("name %q, want %q", g.Metadata.Name, want)
		}
		for _, r := range out {
			if r != '\n' && unicode.IsControl(r) || r == utf8.RuneError {
				rt.Fatalf("%U in it", r)
			}
		}
	})
	// The last of them, and the worst characters, by another reader.
	for _, r := range []rune{0, 8, 0xb, 0x1f, 0x7f, 0x85, 0x2028, 0xd7ff, 0xe000, 0xfffd, 0xfffe, 0xffff, 0x1fffe, 0x10ffff} {
		run.Name += " a" + string(r) + "b"
	}
	if err := writeGPX(path, run, all(run)); err != nil {
		t.Fatal(err)
	}
	valid(t, path)
}
