package results

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"rillwood/raster"
)

// What a folder holds comes out as it was put in.
func TestOpenTellsWhatTheFolderHolds(t *testing.T) {
	dir := made{relief: func(x, y int) uint8 { return 128 }, access: func(x, y int) uint8 { return 1 }}.write(t)
	r := opened(t, dir)
	if len(r.Notes) > 0 {
		t.Errorf("notes %q on a whole folder", r.Notes)
	}
	nan := math.NaN()
	degree := cmpopts.EquateApprox(0, 1e-6) // what the files are written to
	metre := cmpopts.EquateApprox(0, 0.1)
	first := Candidate{Rank: 1, Score: 0.9, AreaHa: 1, SMean: 0.8, SMax: 0.85, BMean: 0.7, Finds: 2.5, FindsSD: 1.5, FindsLow: 0.3, FindsHigh: 8, RankConfidence: 0.95, Learning: true,
		FirstHost: "Elm", Check95: 39, HoldsCheck: true, DeadTrees: 201, Trees: []TreeCount{{"elm", 9, 2, 20}, {"ash", 4, 1, 8}}, HeightM: 0.3, SlopePct: 2.5, Stream: "Shale Brook", StreamOrder: 2,
		StreamM: 13, Cover: "wooded_wetland", CoverShare: 0.97, Limiting: "none", OutsideShare: 0.1, Evidence: []string{"soil: flooded"}, EvidenceShift: 3, MeasuredShare: 0.25, Access: "open",
		AccessNote: "open to the public", Land: []string{"Velvet Flats"}, Why: "Wet woods.",
		Walk: &Walk{OK: true, Note: "320 m from the parking place", DistanceM: 320, PathM: 300, OffPathM: 20, ClimbM: 5, DescentM: 4, Crossings: 1, StartKind: "parking", Start: "Mill Lot", Cautions: []string{"Gates are not known."}}}
	second := Candidate{Rank: 2, Score: nan, AreaHa: nan, SMean: nan, SMax: nan, BMean: nan, Finds: nan, FindsSD: nan, FindsLow: nan, FindsHigh: nan, RankConfidence: nan, DeadTrees: nan, HeightM: nan, SlopePct: nan,
		StreamM: nan, CoverShare: nan, OutsideShare: nan, EvidenceShift: nan, MeasuredShare: nan, Walk: &Walk{Note: "no way found"}}
	places := cmpopts.IgnoreFields(Candidate{}, "Lon", "Lat", "East", "North", "Shape")
	ends := cmpopts.IgnoreFields(Walk{}, "StartLon", "StartLat", "EntryLon", "EntryLat", "EntryEast", "EntryNorth")
	if d := cmp.Diff([]Candidate{first, second}, r.Candidates, cmpopts.EquateNaNs(), places, ends); d != "" {
		t.Error(d)
	}
	c := r.Candidates[0]
	if d := cmp.Diff([]float64{madeX0 + 250, madeY0 - 150, madeX0 + 200, madeY0 - 100}, []float64{c.East, c.North, c.Walk.EntryEast, c.Walk.EntryNorth}, metre); d != "" {
		t.Error(d)
	}
	// The central meridian of zone 16 is 87° west, at easting 500,000 m.
	if lon := r.Ways[1][0][0]; math.Abs(lon+87) > 1e-3 || len(r.Ways[1]) != 3 || len(r.Ways) != 1 {
		t.Errorf("ways %v", r.Ways)
	}
	if d := cmp.Diff([2]float64{c.Walk.StartLon, c.Walk.StartLat}, [2]float64(r.Ways[1][0]), degree); d != "" {
		t.Error(d)
	}
	if len(r.Streams) != 2 || r.Streams[0].Name != "Shale Brook" || r.Streams[0].Order != 2 || r.Streams[1].Name != "" || r.Streams[1].Order != 0 || len(r.Streams[1].Line) != 2 || len(r.Area) != 1 {
		t.Errorf("streams %+v, area %v", r.Streams, r.Area)
	}
	if d := cmp.Diff([]string{"access", "relief", "suitability"}, r.Layers); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]Host{{"elm", "Elm", "Ulmus", "buttressed", 3, 40, 20}, {ID: "ash", Common: "Ash"}}, r.Hosts); d != "" {
		t.Error(d)
	}
	want := Run{Folder: r.Folder, ID: "a1", Name: "Hand-made county", Software: "Rillwood 0.1.0", Threshold: 0.6, Found: 7, Target: Target{"velvet foot", "Flammulina", []int{11, 12, 1}},
		Help: Help{"555-0100", "555", "everywhere"}, Warnings: []string{"one bridge unmapped"}, Inputs: []Input{{"elevation", "z.tif", 7, "00"}}, Profile: "elms"}
	if d := cmp.Diff(want, *r, cmpopts.IgnoreUnexported(Run{}), cmpopts.IgnoreFields(Run{}, "Frame", "Hosts", "Cautions", "Candidates", "Ways", "Streams", "Area", "Layers")); d != "" {
		t.Error(d)
	}
	if len(r.Cautions) != len(expected) || r.Cautions[1] != (Caution{"lookalike", "About lookalike", "Mind the lookalike.", true}) {
		t.Errorf("cautions %+v", r.Cautions)
	}
}

// What an earlier version did not write, or someone took away, is a note, and
// no caution is lost without one.
func TestWhatIsMissingIsANote(t *testing.T) {
	m := made{relief: func(x, y int) uint8 { return 128 }, access: func(x, y int) uint8 { return 1 }}
	whole := m.write(t)
	gone := func(names ...string) func(t *testing.T, dir string) {
		return func(t *testing.T, dir string) {
			for _, n := range names {
				if err := os.Remove(filepath.Join(dir, n)); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
	for _, c := range []struct {
		name, want string
		record     map[string]any
		spoil      func(t *testing.T, dir string)
		look       func(r *Run) bool
	}{
		{name: "no cautions", want: "lacks most cautions", record: map[string]any{"cautions": nil, "caution": "Look, never eat."},
			look: func(r *Run) bool { return len(r.Cautions) == 1 && r.Cautions[0].Text == "Look, never eat." }},
		{name: "no caution at all", want: "lacks most cautions", record: map[string]any{"cautions": nil, "caution": nil},
			look: func(r *Run) bool { return len(r.Cautions) == 1 && r.Cautions[0].Text == firstCaution }},
		{name: "a caution taken out", want: "lacks cautions (lookalike,", record: map[string]any{"cautions": []any{map[string]any{"key": "map", "text": "Look."}}},
			look: func(r *Run) bool { return len(r.Cautions) == 1 }},
		{name: "a caution emptied", want: "lacks cautions (lookalike,", record: map[string]any{"cautions": []any{map[string]any{"key": "map", "text": "Look."}, map[string]any{"key": "lookalike"}}},
			look: func(r *Run) bool { return len(r.Cautions) == 1 }},
		{name: "no target", want: "what is looked for", record: map[string]any{"target": nil}},
		{name: "no hosts", want: "what to know the hosts by", record: map[string]any{"profile": map[string]any{"hit_rates": []any{map[string]any{"host": "elm", "hits": 3, "of": 40, "weight": 20}}}},
			look: func(r *Run) bool { return len(r.Hosts) == 1 && r.Hosts[0].Common == "elm" && r.Hosts[0].Of == 40 }},
		{name: "no threshold in the survey", record: map[string]any{"survey": map[string]any{}}, look: func(r *Run) bool { return r.Threshold == 0.5 }},
		{name: "no frame", record: map[string]any{"frame": nil}, look: func(r *Run) bool { return r.Frame.W == 60 }},
		{name: "no relief", want: "no relief.tif", spoil: gone("relief.tif"), look: func(r *Run) bool { return !r.Has("relief") }},
		{name: "relief of a run before", want: "no relief.tif", record: map[string]any{"outputs": []string{"suitability.tif"}}, look: func(r *Run) bool { return !r.Has("relief") }},
		{name: "damaged relief", want: `not shown: "relief.tif"`, spoil: func(t *testing.T, d string) { put(t, filepath.Join(d, "relief.tif"), "nonsense") }},
		{name: "relief on another grid", want: `"relief.tif" lies on another grid`, spoil: func(t *testing.T, d string) {
			writeRaster(t, filepath.Join(d, "relief.tif"), madeFrame(t, 60, 41), 0, func(x, y int) uint8 { return 1 })
		}},
		{name: "access in another system", want: `"layers/access.tif" lies on another grid`, spoil: func(t *testing.T, d string) {
			f := madeFrame(t, 60, 40)
			crs, err := raster.ParseCRS("EPSG:32617")
			if err != nil {
				t.Fatal(err)
			}
			f.WKT = crs.WKT
			writeRaster(t, filepath.Join(d, "layers", "access.tif"), f, 255, func(x, y int) uint8 { return 1 })
		}},
		{name: "no ways", want: "no ways.geojson: ways in are not drawn, and their cautions are not told", spoil: gone("ways.geojson"), look: func(r *Run) bool { return len(r.Ways) == 0 }},
		{name: "ways without cautions", want: "the way in to candidate 1 comes without its cautions", spoil: func(t *testing.T, d string) {
			path := filepath.Join(d, "ways.geojson")
			data, _ := os.ReadFile(path)
			put(t, path, strings.Replace(string(data), `["Gates are not known."]`, `null`, 1))
		}},
		{name: "no streams", want: "no streams.gpkg", spoil: gone("streams.gpkg"), look: func(r *Run) bool { return len(r.Streams) == 0 && len(r.Area) == 0 }},
		{name: "damaged streams", want: `not shown: "streams.gpkg"`, spoil: func(t *testing.T, d string) { put(t, filepath.Join(d, "streams.gpkg"), "nonsense") }},
		{name: "streams that are a folder", want: `"streams.gpkg" is no plain file`, spoil: func(t *testing.T, d string) {
			gone("streams.gpkg")(t, d)
			if err := os.Mkdir(filepath.Join(d, "streams.gpkg"), 0o755); err != nil {
				t.Fatal(err)
			}
		}},
		{name: "a layer that leads out", want: "not shown: \"layers/access.tif\" is a link", spoil: func(t *testing.T, d string) { linkOut(t, d, "layers/access.tif") }},
		{name: "streams that lead out", want: "not shown: \"streams.gpkg\" is a link", spoil: func(t *testing.T, d string) { linkOut(t, d, "streams.gpkg") }},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			must(t, os.CopyFS(dir, os.DirFS(whole)))
			m.record = c.record
			m.writeRecord(t, dir, madeFrame(t, 60, 40), []string{"suitability.tif", "shortlist.geojson", "ways.geojson", "streams.gpkg", "run.json", "relief.tif", "layers/access.tif"})
			if c.spoil != nil {
				c.spoil(t, dir)
			}
			r := opened(t, dir)
			notes := strings.Join(r.Notes, "\n")
			if !strings.Contains(notes, c.want) || c.want == "" && notes != "" {
				t.Errorf("notes %q, want %q", r.Notes, c.want)
			}
			if strings.Contains(notes, dir) {
				t.Errorf("notes %q tell where the folder lies", r.Notes)
			}
			if c.look != nil && !c.look(r) {
				t.Errorf("%+v", r)
			}
			if len(r.Cautions) == 0 || len(r.Candidates) != 2 {
				t.Errorf("cautions %v, %d candidates", r.Cautions, len(r.Candidates))
			}
		})
	}
}

// linkOut puts a link to a good file outside in a file's place.
func linkOut(t *testing.T, dir, name string) {
	t.Helper()
	path := filepath.Join(dir, filepath.FromSlash(name))
	out := filepath.Join(t.TempDir(), filepath.Base(path))
	if err := os.Rename(path, out); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(out, path); err != nil {
		t.Fatal(err)
	}
}

// Layers that are no files of the folder are not looked for.
func TestOutputsNameNothingOutside(t *testing.T) {
	dir := made{relief: func(x, y int) uint8 { return 1 }, access: func(x, y int) uint8 { return 1 }}.write(t)
	outside := filepath.Join(filepath.Dir(dir), "outside.tif")
	writeRaster(t, outside, madeFrame(t, 60, 40), 255, func(x, y int) uint8 { return 1 })
	outputs := []string{"suitability.tif", "relief.tif", "ways.geojson", "streams.gpkg", "layers/../../outside.tif", "layers//access.tif", "layers/relief.tif", "layers/suitability.tif", "layers/.tif",
		"layers/access.tif", "layers/access.tif", "layers/not-there.tif", "/etc/passwd", "layers/a\x00b.tif"}
	var record map[string]any
	data, err := os.ReadFile(filepath.Join(dir, "run.json"))
	if err != nil || json.Unmarshal(data, &record) != nil {
		t.Fatal(err)
	}
	record["outputs"] = outputs
	if data, err = json.Marshal(record); err != nil {
		t.Fatal(err)
	}
	put(t, filepath.Join(dir, "run.json"), string(data))
	r := opened(t, dir)
	if d := cmp.Diff([]string{"access", "relief", "suitability"}, r.Layers); d != "" || len(r.Notes) > 0 {
		t.Error(d, r.Notes)
	}
}

// A folder may be reached over a link, and its files may be linked within it.
func TestLinksWithinTheFolder(t *testing.T) {
	dir := made{}.write(t)
	if err := os.Rename(filepath.Join(dir, "shortlist.geojson"), filepath.Join(dir, "list")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("list", filepath.Join(dir, "shortlist.geojson")); err != nil {
		t.Fatal(err)
	}
	over := filepath.Join(t.TempDir(), "run")
	if err := os.Symlink(dir, over); err != nil {
		t.Fatal(err)
	}
	if r := opened(t, over); len(r.Candidates) != 2 {
		t.Errorf("%+v", r)
	}
}
