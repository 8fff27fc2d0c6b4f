package inventory

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"rillwood/vector"
)

func TestHostileCSV(t *testing.T) {
	f := ground(t, 40, 30, 10)
	for _, c := range []struct {
		name, text, crs string
		change          func(*TreeSource)
		want            string // in the error
	}{
		{"nothing", "", utm, nil, "empty"},
		{"a head alone", "x,y,species\n", utm, nil, "no record"},
		{"no species", "x,y,girth,colour\n1,2,3,4\n", utm, nil, `species column is missing; found are "x", "y", "girth", "colour"`},
		{"no place", "a,b,species\n1,2,elm\n", utm, nil, `neither x and y nor lon and lat; found are "a", "b", "species"`},
		{"named column missing", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.Columns.Status = "health" }, `status column "health" is missing; found are "x"`},
		{"x without y", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.Columns.X = "x" }, "name both"},
		{"no system", "x,y,species\n500100,4399900,elm\n", "", nil, "not known; name it"},
		{"degrees in metres", "lon,lat,species\n-81,39,elm\n", utm, nil, "is not in degrees"},
		{"an unknown system", "x,y,species\n1,2,elm\n", "EPSG:999999", nil, "not known"},
		{"metres as degrees", "lon,lat,species\n500100,4399900,elm\n", "", nil, "usable place"},
		{"latitude first, in the west", "lon,lat,species\n39.7,-95,elm\n39.8,-95.1,elm\n", "", nil, "the other way round"},
		{"latitude first, on the map turned", "lon,lat,species\n39.7485,-80.9990,elm\n", "", nil, "the other way round"},
		{"not numbers", "x,y,species\nNaN,4399900,elm\ninf,4399900,elm\n500100,-Inf,elm\n,,elm\nten,10,elm\n", utm, nil, "line 2, line 3, line 4, …"},
		{"beyond the earth", "x,y,species\n1e300,4399900,elm\n", utm, nil, "usable place"},
		{"fewer fields", "x,y,species\n500100,4399900\n", utm, nil, "line 2: wrong number of fields"},
		{"a bare quote", "x,y,species\n500100,4399900,el\"m\n", utm, nil, "line 2"},
		{"a quote never closed", "x,y,species\n500100,4399900,\"" + strings.Repeat("elm\n", 1<<19), utm, nil, "longer than 1 MiB"},
		{"a huge line", "x,y,species\n500100,4399900," + strings.Repeat("elm ", 1<<19) + "\n", utm, nil, "longer than 1 MiB"},
		{"a huge head", strings.Repeat("x", 2<<20), utm, nil, "longer than 1 MiB"},
		{"semicolons", "x;y;species\n1;2;elm\n", utm, nil, "separate the columns by commas"},
		{"a column twice", "x,y,species,Species\n1,2,elm,ash\n", utm, nil, "is there twice"},
		{"unit not known", "x,y,species,dbh\n1,2,elm,30\n", utm, nil, "its unit is not known; give cm or in"},
		{"units at odds", "x,y,species,dbh_cm\n1,2,elm,30\n", utm, func(s *TreeSource) { s.DiameterUnit = "in" }, "is in cm by its name"},
		{"no such unit", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.DiameterUnit = "mm" }, `found "mm"; give cm or in`},
		{"plots", "x,y,species,TPA_UNADJ\n1,2,elm,6.018\n", utm, nil, "plot samples"},
		{"a negative bandwidth", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.BandwidthM = -3 }, "bandwidth: found -3"},
		{"a bandwidth that is no number", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.BandwidthM = math.NaN() }, "bandwidth: found NaN"},
		{"a bandwidth as wide as the sea", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.BandwidthM = 1e9 }, "bandwidth: found 1e+09"},
		{"a prior below nought", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.DeadPrior = -1 }, "dead prior: found -1"},
		{"an unknown host", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.Covers = []string{"oak"} }, `"oak" is no host of the profile; it has american-elm`},
		{"a column of no trees", "x,y,species\n500100,4399900,qq\n500100,4399900,zz\n500100,4399900,qq\n", utm, nil, `column "species": not one of 3 records names a tree species that is known (2 kinds; most: "qq" 2, "zz" 1); name the column of`},
		{"a column of nothing", "x,y,species\n500100,4399900,\n", utm, nil, `not one of 1 record names a tree species`},
		{"numbers of trees", "x,y,species\n500100,4399900,1201\n500100,4399900,3\n", utm, nil, `not one of 2 records names a tree species`},
		{"two sources", "x,y,species\n1,2,elm\n", utm, func(s *TreeSource) { s.Points.Path = "t.gpkg" }, "one of the two"},
	} {
		s := TreeSource{CSV: write(t, "t.csv", c.text), CRS: c.crs}
		if c.change != nil {
			c.change(&s)
		}
		_, _, err := ReadTrees(context.Background(), s, woods(), f, nil, 1)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.want)
		} else if strings.Contains(err.Error(), "\n") || len(err.Error()) > 600 {
			t.Errorf("%s: not one short line: %q", c.name, err)
		}
	}
}

// Trees that are no hosts are a survey all the same: none of the hosts stands there.
func TestOtherTreesAreNoMistake(t *testing.T) {
	f := ground(t, 40, 30, 10)
	for _, name := range []string{"sugar maple", "Quercus alba L.", "802", "Pines", "oak, white", "Dead Snag"} {
		_, notes := read(t, TreeSource{CSV: write(t, "t.csv", "x,y,species\n500100,4399900,\""+name+"\"\n500200,4399900,zz\n"), CRS: utm}, f)
		some(t, notes, "2 records of no host (2 kinds; most:", "show what was surveyed and count for nothing else")
	}
}

// Records with something wrong are told of, and the others are used.
func TestDoubtfulRecordsAreTold(t *testing.T) {
	f := ground(t, 40, 30, 10)
	all, notes := read(t, TreeSource{CSV: write(t, "t.csv", "\xef\xbb\xbf X , Y ,Species,dbh_cm,status,expansion\r\n"+
		"500100,4399900,elm,30,alive,2\r\n"+
		"500100,4399900,elm,,blooming,-1\r\n"+
		"500100,4399900,elm,900,dead,x\r\n"+
		"500100,4399900,elm,9.9,dead,1\r\n"+
		"500100,4399900,\"elm, american\",NaN,removed,1\r\n"+
		"500100,4399900,971,30,,1\r\n"+
		"NaN,4399900,elm,30,,1\r\n"), CRS: utm}, f)
	if m := of(t, all, "american-elm"); m.Records != 3 {
		t.Errorf("%d records of elm, want 3", m.Records)
	}
	some(t, notes, "1 record (line 8) without a usable place")
	some(t, notes, "1 record (line 6) of removed trees")
	some(t, notes, "1 record (line 5) under 10 cm")
	some(t, notes, "2 records (line 3, line 4) without a usable diameter")
	some(t, notes, "1 record (line 3) with a status that is not known", `"blooming"`)
	some(t, notes, "2 records (line 3, line 4) with a number of trees")
	some(t, notes, "1 record with code 971, winged elm", "exchange")
	some(t, notes, "convex hull of its 6 records")
	_, notes = read(t, TreeSource{CSV: write(t, "t.csv", "x,y,spcd,statuscd\n500100,4399900,972,2\n"), CRS: utm}, f)
	some(t, notes, "no diameter column")
	some(t, notes, "every record with a status is dead")
	_, notes = read(t, TreeSource{CSV: write(t, "t.csv", "x,y,spcd\n500100,4399900,131\n"), CRS: utm}, f)
	some(t, notes, "no record names a host")
	some(t, notes, "no status column")
	// Two trees 30 km apart, the map between them: the hull is mostly empty.
	_, notes = read(t, TreeSource{CSV: write(t, "t.csv", "x,y,spcd\n485000,4399900,972\n515000,4399900,972\n500100,4380000,972\n"), CRS: utm}, f)
	some(t, notes, "far from any record: give polygons")
}

func TestHostilePoints(t *testing.T) {
	f := ground(t, 40, 30, 10)
	line := write(t, "l.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"species":"elm"},"geometry":{"type":"LineString","coordinates":[[-81,39],[-81,39.1]]}}]}`)
	many := write(t, "m.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"species":"elm"},"geometry":{"type":"MultiPoint","coordinates":[[-81,39],[-81,39.1]]}}]}`)
	bare := write(t, "b.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"girth":3},"geometry":{"type":"Point","coordinates":[-81,39]}}]}`)
	turned := write(t, "t.geojson", `{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"species":"elm"},"geometry":{"type":"Point","coordinates":[39.7485,-80.9990]}}]}`)
	for name, c := range map[string][2]string{
		"lines": {line, "a layer of points is wanted"}, "several points": {many, "2 points"},
		"no species": {bare, `species column is missing; found are "girth"`}, "axes turned": {turned, "the other way round"},
		"no file": {"nowhere.gpkg", "no such file"},
	} {
		_, _, err := ReadTrees(context.Background(), TreeSource{Points: vector.Query{Path: c[0]}}, woods(), f, nil, 1)
		if err == nil || !strings.Contains(err.Error(), c[1]) {
			t.Errorf("%s: got %v, want an error with %q", name, err, c[1])
		}
	}
}

func FuzzParseCSV(f *testing.F) {
	for _, text := range []string{
		"x,y,spcd,dia_in,statuscd\n500100,4399900,972,12.5,2\n", "lon,lat,species\n-81,39,\"elm, American\"\n",
		"lon,lat,species\n39,-95,elm\n", "x,y,species,expansion\nNaN,inf,elm,-1\n", "\xef\xbb\xbfx,y,species\r\n1,2,\xff\r\n",
		"x;y;z\n", "x,y,species\n1,2,\"elm", "x,x,y,species\n1,1,2,elm\n", "x,y,species,tpa_unadj\n1,2,elm,6\n",
	} {
		f.Add(text, true)
		f.Add(text, false)
	}
	f.Fuzz(func(t *testing.T, text string, named bool) {
		s := TreeSource{DiameterUnit: "cm"}
		if named {
			s.CRS = "EPSG:32617"
		}
		r, wkt, err := s.parseCSV(context.Background(), strings.NewReader(text), 10, woods())
		if err != nil {
			if strings.Contains(err.Error(), "\n") {
				t.Fatalf("error of several lines: %q", err)
			}
			return
		}
		if wkt == "" {
			t.Fatal("records without a system")
		}
		for _, v := range r.records {
			if math.IsNaN(v.x+v.y) || math.IsInf(v.x, 0) || math.IsInf(v.y, 0) || !(v.trees > 0 && v.trees <= maxExpansion) {
				t.Fatalf("record %+v", v)
			}
			sum := 0.0
			for _, p := range v.parts {
				sum += p.share
			}
			if v.parts != nil && math.Abs(sum-1) > 1e-9 {
				t.Fatalf("shares of one tree add up to %g", sum)
			}
		}
		for _, n := range r.findings() {
			if strings.Contains(n, "\n") {
				t.Fatalf("note of several lines: %q", n)
			}
		}
		_ = fmt.Sprint(r.checkSome())
	})
}
