package pack

import (
	"math"
	"os"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
	"rillwood/raster"
	"rillwood/vector"
)

func TestMain(m *testing.M) {
	if err := raster.Setup(); err != nil {
		panic(err)
	}
	code := m.Run()
	removeCounty()
	os.Exit(code)
}

// hostile is text that breaks what does not escape it: markup, formulas,
// control characters, marks that turn writing round, broken UTF-8.
const hostile = "=cmd|'/C x'!A1 <b>&\"]]>\r\n\x00\x1b[31m\u202e\ufffe\xff冬 ñ"

// madeRun is an invented run of three patches: one with all there is to tell,
// one hostile, and one of which next to nothing is known.
func madeRun(t testing.TB) *results.Run {
	t.Helper()
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	square := func(lon, lat, side float64) orb.Ring {
		return orb.Ring{{lon, lat}, {lon + side, lat}, {lon + side, lat + side}, {lon, lat + side}, {lon, lat}}
	}
	hole := square(-87.0195, 43.3505, 0.0005)
	hole.Reverse()
	nan := math.NaN()
	run := &results.Run{
		Folder: t.TempDir(), ID: "0123456789ab", Name: "Larchwood County", Software: "Rillwood 0.1.0",
		Frame: raster.Frame{W: 400, H: 400, X0: 497000, Y0: 4804000, Cell: 10, WKT: crs.WKT, EPSG: 32616, Name: "WGS 84 / UTM zone 16N"},
		Help:  results.Help{PoisonLine: "555-0100", Emergency: "555-0199", Where: "Larchwood"},
		Cautions: []results.Caution{
			{Key: "map", Title: "The map is about trees", Text: "A map says where to look, never what is safe to eat.", Short: true},
			{Key: "lookalike", Title: "A deadly twin", Text: "It leaves a rusty-brown spore print & may have a ring.", Short: true},
			{Key: "wood", Title: "Leave the wood", Text: "Beetles travel in it.", Short: false},
		},
		Hosts: []results.Host{{ID: "american-elm", Common: "American elm"}, {ID: "boxelder", Common: "Boxelder"}},
		Ways:  map[int]orb.LineString{1: {{-87.0312345, 43.3456789}, {-87.0251, 43.3481}, {-87.02, 43.35}}},
		Streams: []results.Stream{
			{Name: "Shalecote Brook", Order: 2, Line: orb.MultiLineString{{{-87.03, 43.349}, {-87.01, 43.352}}}},
			{Line: orb.MultiLineString{{{-88, 44}, {-88.1, 44.1}}}}, // far away
		},
	}
	full := results.Candidate{
		Rank: 1, Score: 0.9043, AreaHa: 3.29, SMean: 0.9648, SMax: 0.9756, BMean: 0.9562, Finds: 2.768, FindsSD: 1.741, FindsLow: 0.381, FindsHigh: 8.944,
		RankConfidence: 1, FirstHost: "American elm", Check95: 39, HoldsCheck: true, DeadTrees: 201,
		Trees:   []results.TreeCount{{Host: "american-elm", Expected: 99, Low: 24, High: 213}, {Host: "boxelder", Expected: 13, Low: nan, High: nan}},
		HeightM: 0.31, SlopePct: 2.56, Stream: "Shalecote Brook", StreamOrder: 2, StreamM: 13, Cover: "wooded_wetland", CoverShare: 0.97, Limiting: "none",
		Evidence: []string{"flood zones: zone A", "geology: alluvium"}, EvidenceShift: 3, Access: "permit", AccessNote: "permit or registration needed",
		Land: []string{"Velvetyard Flats"}, Lon: -87.0201234, Lat: 43.3501239, Why: "Flat ground under wet woods.",
		Walk: &results.Walk{OK: true, Note: "1.2 km from Fernmoor Parking, the last 300 m off the path", DistanceM: 1212, PathM: 912, OffPathM: 300, ClimbM: 8, DescentM: 7, Crossings: 1,
			StartKind: "parking", Start: "Fernmoor Parking", StartLon: -87.031234, StartLat: 43.345679, EntryLon: -87.02, EntryLat: 43.35,
			Cautions: []string{"Drawn from maps alone: fences and locked gates are not known to it."}},
		Shape: orb.MultiPolygon{{square(-87.02, 43.35, 0.002), hole}, {square(-87.015, 43.35, 0.001)}},
	}
	bad := full
	bad.Rank, bad.Lon, bad.Lat, bad.Shape = 2, -87.01, 43.36, orb.MultiPolygon{{square(-87.01, 43.36, 0.001)}}
	bad.Stream, bad.FirstHost, bad.Cover, bad.Limiting, bad.AccessNote, bad.Why = hostile, hostile, hostile, hostile, hostile, hostile
	bad.Land, bad.Evidence, bad.Trees = []string{hostile, "x"}, []string{hostile}, []results.TreeCount{{Host: hostile, Expected: 1}}
	w := *full.Walk
	w.Note, w.Start, w.Cautions = hostile, hostile, []string{hostile}
	bad.Walk, bad.Access = &w, "private"
	poor := results.Candidate{
		Rank: 104, Score: nan, AreaHa: nan, SMean: nan, SMax: nan, BMean: nan, Finds: nan, FindsSD: nan, FindsLow: nan, FindsHigh: nan, RankConfidence: nan, Learning: true,
		DeadTrees: nan, HeightM: nan, SlopePct: nan, StreamM: nan, CoverShare: nan, OutsideShare: nan, EvidenceShift: nan, MeasuredShare: nan,
		Lon: -87.03, Lat: 43.34, Walk: &results.Walk{Note: "no path or road leads near"}, Shape: orb.MultiPolygon{{square(-87.03, 43.34, 0.001)}},
	}
	run.Candidates = []results.Candidate{full, bad, poor}
	place(t, run)
	return run
}

// place puts the places of the candidates into the grid, as opening a run does.
func place(t testing.TB, run *results.Run) {
	t.Helper()
	to, err := vector.FromWGS84(run.Frame.WKT)
	if err != nil {
		t.Fatal(err)
	}
	at := func(lon, lat float64) (float64, float64) {
		p, err := to.Point(orb.Point{lon, lat})
		if err != nil {
			t.Fatal(err)
		}
		return p[0], p[1]
	}
	for i := range run.Candidates {
		c := &run.Candidates[i]
		c.East, c.North = at(c.Lon, c.Lat)
		if hasWay(c) {
			c.Walk.EntryEast, c.Walk.EntryNorth = at(c.Walk.EntryLon, c.Walk.EntryLat)
		}
	}
}

// all are the candidates of a run.
func all(run *results.Run) []*results.Candidate {
	list := make([]*results.Candidate, len(run.Candidates))
	for i := range list {
		list[i] = &run.Candidates[i]
	}
	return list
}

func read(t testing.TB, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}
