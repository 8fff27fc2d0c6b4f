package sheet_test

import (
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat"
	"rillwood/habitat/results"
	"rillwood/habitat/sheet"
	"rillwood/raster"
	"rillwood/vector"
)

// hostile is what a layer may bring as a name.
var hostile = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(2)>`,
	`</text></svg><iframe src="http://x.invalid">`,
	`]]><!-- --><b>&lt;&amp;`,
	`{{.Run}} ' onload='x`,
	"ctl\x00\x07\x1b[31m \xff\xfe \u202eturned\u202c",
	"Übersee-Bächlein 小川 🌲",
}

// county is a run made by hand in UTM zone 16 north, whose central meridian is
// 87° west: patches of 500 m a side in a row, the first with a way in. west is
// the easting of its corner.
func county(t testing.TB, west float64, n int) *results.Run {
	t.Helper()
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{W: 400, H: 300, X0: west, Y0: 4803000, Cell: 10, WKT: crs.WKT, EPSG: 32616, Name: crs.Name}
	p, err := habitat.LoadProfile("elm-bottoms")
	if err != nil {
		t.Fatal(err)
	}
	run := &results.Run{Folder: ground(t, f), ID: "a1b2c3d4e5f6", Name: "Larchwood County", Software: "Rillwood 0.0", Frame: f, Threshold: 0.6, Found: n,
		Target: results.Target{Common: p.Target.Common, Scientific: p.Target.Scientific, Months: p.Target.Months},
		Help:   results.Help{PoisonLine: p.Help.PoisonLine, Emergency: p.Help.Emergency, Where: p.Help.Where},
		Layers: []string{"access", "relief", "suitability"}, Ways: map[int]orb.LineString{}}
	for _, c := range habitat.Cautions(p) {
		run.Cautions = append(run.Cautions, results.Caution{Key: c.Key, Title: c.Title, Text: c.Text, Short: c.Short})
	}
	for _, h := range p.Hosts {
		run.Hosts = append(run.Hosts, results.Host{ID: h.ID, Common: h.Common, Scientific: h.Scientific, Winter: h.Winter, Hits: 1, Of: 10, Weight: 10})
	}
	for i := range n {
		run.Candidates = append(run.Candidates, patch(t, run, i))
	}
	run.Streams = []results.Stream{{Name: "Shalecote Brook", Order: 3, Line: orb.MultiLineString{{at(t, f, 0, 900), at(t, f, 2000, 1000), at(t, f, 4000, 1100)}}}}
	return run
}

// grounds are folders of rasters by the easting of their corner: all maps of
// one look alike, so each is written once.
var grounds = map[float64]string{}

func ground(t testing.TB, f raster.Frame) string {
	t.Helper()
	dir := grounds[f.X0]
	if dir == "" {
		dir = t.TempDir()
		none, zero, off := -9999.0, 0.0, 255.0
		cog(t, filepath.Join(dir, "suitability.tif"), f, &none, func(x, y int) float32 { return float32((x*7+y*3)%100) / 100 })
		cog(t, filepath.Join(dir, "relief.tif"), f, &zero, func(x, y int) uint8 { return uint8(1 + (x*x+y*5)%255) })
		if err := os.Mkdir(filepath.Join(dir, "layers"), 0o755); err != nil {
			t.Fatal(err)
		}
		cog(t, filepath.Join(dir, "layers", "access.tif"), f, &off, func(x, y int) uint8 { return uint8((x/40 + y/60) % 5) })
		grounds[f.X0] = dir
		t.Cleanup(func() { delete(grounds, f.X0) }) // the folder ends with the test
	}
	return dir
}

// at is a place so many metres east and south of the corner, in degrees.
func at(t testing.TB, f raster.Frame, east, south float64) orb.Point {
	t.Helper()
	back, err := vector.ToWGS84(f.WKT)
	if err != nil {
		t.Fatal(err)
	}
	p, err := back.Point(orb.Point{f.X0 + east, f.Y0 - south})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func patch(t testing.TB, run *results.Run, i int) results.Candidate {
	f := run.Frame
	x, y := 300+600*float64(i), 700.0
	c := results.Candidate{Rank: i + 1, Score: 0.9, AreaHa: 25, SMean: 0.8, SMax: 0.95, BMean: 0.9, Finds: 2.4, FindsSD: 1, FindsLow: 0.4, FindsHigh: 6.1, RankConfidence: 0.7,
		FirstHost: "American elm", Check95: 39, HoldsCheck: true, DeadTrees: 120, HeightM: 0.6, SlopePct: 1, Stream: "Shalecote Brook", StreamOrder: 3, StreamM: 12, Cover: "woody_wetlands",
		CoverShare: 0.9, Limiting: "none", Access: "private", AccessNote: "private: ask the owner first", Land: []string{"Long Meadow"}, Why: "Flat ground under wet woods beside a stream."}
	for k, h := range run.Hosts {
		c.Trees = append(c.Trees, results.TreeCount{Host: h.ID, Expected: float64(90 - 6*k), Low: float64(40 - 2*k), High: float64(190 - 9*k)})
	}
	c.Shape = orb.MultiPolygon{{{at(t, f, x, y+500), at(t, f, x+500, y+500), at(t, f, x+500, y), at(t, f, x, y), at(t, f, x, y+500)}}}
	mid := at(t, f, x+250, y+250)
	c.Lon, c.Lat, c.East, c.North = mid[0], mid[1], f.X0+x+250, f.Y0-y-250
	if i%2 == 0 {
		start, in := at(t, f, x-150, y-120), at(t, f, x, y+40)
		c.Walk = &results.Walk{OK: true, Note: "230 m from Fernmoor Parking, 60 m of it off the path", DistanceM: 230, PathM: 170, OffPathM: 60, ClimbM: 2, Crossings: 1, StartKind: "parking", Start: "Fernmoor Parking",
			StartLon: start[0], StartLat: start[1], EntryLon: in[0], EntryLat: in[1], EntryEast: f.X0 + x, EntryNorth: f.Y0 - y - 40, Cautions: []string{"Drawn from maps alone: fences and locked gates are not known to it."}}
		run.Ways[c.Rank] = orb.LineString{start, at(t, f, x-60, y-10), in}
	}
	return c
}

// longest fills everything that words may fill, to what a run may tell at most.
func longest(run *results.Run) {
	long := func(s string, n int) string { return strings.TrimSpace(strings.Repeat(s+" ", n/len(s)+1)[:n]) }
	run.Name = long("The Larchwood and Fernmoor River Bottoms of the North", 110)
	for i := range run.Hosts {
		run.Hosts[i].Common = long(run.Hosts[i].Common+" of the river", 30)
		run.Hosts[i].Winter = long("opposite twigs, corky ridges, black buds", 110)
	}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		c.Learning, c.HoldsCheck, c.Check95 = true, false, 99999
		c.FindsLow, c.Finds, c.FindsHigh, c.DeadTrees, c.AreaHa = 1000.4, 22222.2, 99999.9, 123456, 12345.6
		c.Stream = long("North Fork of the Upper Shalecote Brook", 120)
		c.Land = []string{long("Velvetyard Flats Wildlife Area", 90), long("Fernmoor State Forest", 90), "Third", "Fourth"}
		c.AccessNote = long("registration at the gate, hunting season closed to all", 160)
		c.Access = []string{"permit", "closed", "private", "unknown"}[i%4]
		c.Why = long("Flat ground 0.4 m above a stream of order 4, wooded wetland on 93 %, look at American elm first: corky bark.", 600)
		for k := range 8 {
			c.Evidence = append(c.Evidence, long(fmt.Sprintf("layer %d: frequently flooded alluvium over gravel", k), 120))
		}
		if c.Walk != nil {
			c.Walk.Note = long("12.3 km from the Fernmoor Parking on the county road, the last 900 m off the path", 260)
			c.Walk.Cautions = []string{"Crosses water without a mapped bridge, 7 times: look at the gauge and turn back when it is high.", "Drawn from maps alone: fences and locked gates are not known to it.",
				"The last part is off any path, over ground that the survey does not know: steep banks, mire and thickets are not on it."}
		}
	}
}

func cog[T uint8 | float32](t testing.TB, path string, f raster.Frame, none *float64, value func(x, y int) T) {
	t.Helper()
	err := raster.WriteCOG(context.Background(), path, f, raster.TIFFOptions{NoData: none, Workers: 1}, func(y, n int, dst []T) error {
		for i := range dst[:n*f.W] {
			dst[i] = value(i%f.W, y+i/f.W)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func pages(t testing.TB, run *results.Run, ranks ...int) []string {
	t.Helper()
	list, err := sheet.Pages(context.Background(), run, ranks)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for i, p := range list {
		if p.Rank != ranks[i] {
			t.Fatalf("sheet %d is of candidate %d, want %d", i, p.Rank, ranks[i])
		}
		out = append(out, string(p.HTML))
	}
	return out
}

func book(t testing.TB, run *results.Run, ranks ...int) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "sheets.html")
	if err := sheet.Write(context.Background(), path, run, ranks); err != nil {
		t.Fatal(err)
	}
	return path
}

// ask runs an outside program on an input; without it the test is skipped, and
// says so.
func ask(t testing.TB, input, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("no %s here: this judge is not heard", name)
	}
	cmd := exec.Command(name, args...)
	cmd.Stdin = strings.NewReader(input)
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return string(out)
}

func near(a, b, by float64) bool { return math.Abs(a-b) <= by }
