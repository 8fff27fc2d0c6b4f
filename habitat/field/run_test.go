package field

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// someRun is a run's folder: 20 × 10 cells of 100 m about 87.01° W, 43.31° N,
// and one candidate.
func someRun(t testing.TB) *Run {
	t.Helper()
	dir := t.TempDir()
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	f := raster.Frame{X0: 498000, Y0: 4796000, Cell: 100, W: 20, H: 10, WKT: crs.WKT}
	w, err := raster.CreateTIFF[uint8](filepath.Join(dir, "suitability.tif"), f, raster.TIFFOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteRows(0, f.H, make([]uint8, f.W*f.H)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	square := orb.Polygon{{{-87.02, 43.31}, {-87.018, 43.31}, {-87.018, 43.312}, {-87.02, 43.312}, {-87.02, 43.31}}}
	err = vector.WriteGeoJSON(filepath.Join(dir, "shortlist.geojson"), vector.Collection{Features: []vector.GeoFeature{{ID: 3, Geometry: square,
		Properties: []vector.Property{{Key: "rank", Value: 3}, {Key: "lon", Value: -87.019}, {Key: "lat", Value: 43.311}}}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "run.json"), []byte(`{"format":"rillwood-run-1","run":"0123456789ab"}`), 0o644); err != nil {
		t.Fatal(err)
	}
	r, err := OpenRun(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestRowsOfARun(t *testing.T) {
	o := options()
	o.Run = someRun(t)
	head := "date,stop,lon,lat,run,candidate,host,inspected,found\n"
	in := mustParse(t, head+"2025-11-22,a,,,,3,elm,5,0\n2025-11-22,b,-87.019,43.311,,3,elm,5,0\n2025-11-22,c,-87.005,43.311,,3,elm,5,0\n", o)
	for i, want := range []struct {
		lon, lat float64
		flags    int
	}{{-87.019, 43.311, 0}, {-87.019, 43.311, 0}, {-87.005, 43.311, 1}} {
		if r := in.Records[i]; r.Lon != want.lon || r.Lat != want.lat || r.Run != "0123456789ab" || r.Candidate != 3 || len(r.Flags) != want.flags {
			t.Errorf("row %d: %+v", i, r)
		}
	}
	for name, c := range map[string]struct{ row, says string }{
		"not listed":        {",,,4", "not in the shortlist"},
		"of another run":    {",,aaaa,3", "name that run's folder"},
		"outside":           {"-87.2,43.311,,", "outside the map"},
		"inside if swapped": {"43.311,-87.019,,", "inside it only with lon and lat swapped"},
		"sign":              {"87.019,43.311,,", "west is negative"},
	} {
		in, err := ParseCSV("trip.csv", []byte(head+"2025-11-22,a,"+c.row+",elm,5,0\n"), o)
		if err != nil || len(in.Problems) != 1 {
			t.Errorf("%s: %v %v", name, in, err)
			continue
		}
		holds(t, name, in.Problems[0].Error(), "line 2", c.says)
	}
	without, err := ParseCSV("trip.csv", []byte(head+"2025-11-22,a,,,,3,elm,5,0\n"), options())
	if err != nil || len(without.Problems) != 1 {
		t.Fatal(without, err)
	}
	holds(t, "candidate without its run", without.Problems[0].Error(), "--run")
}

func TestFoldersThatAreNoRun(t *testing.T) {
	for name, text := range map[string]string{"none": "", "no JSON": "{", "another": `{"format":"x","run":"y"}`, "later": `{"format":"rillwood-run-2","run":"y"}`} {
		dir := t.TempDir()
		if text != "" {
			dir = filepath.Dir(write(t, "run.json", text))
		}
		_, err := OpenRun(context.Background(), dir)
		if err == nil {
			t.Errorf("%s: opened", name)
			continue
		}
		holds(t, name, err.Error(), "run")
	}
}

// Points of a GeoPackage in metres, read by GDAL.
func TestPointLayer(t *testing.T) {
	crs, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "stops.gpkg")
	err = vector.WriteGeoPackage(path, crs.WKT, []vector.OutLayer{{Name: "stops", Geometry: "Point",
		Fields: []vector.FieldInfo{{Name: "day", Type: "String"}, {Name: "host", Type: "String"}, {Name: "inspected", Type: "Integer64"}, {Name: "found", Type: "Real"}, {Name: "weather", Type: "String"}},
		Features: []vector.Feature{{Geometry: orb.Point{498378.0522, 4795240.8990}, Values: []vector.Value{
			vector.TextValue("2025-11-22"), vector.TextValue("Ulmus rubra"), vector.IntValue(3), vector.FloatValue(1), {}}}}}})
	if err != nil {
		t.Fatal(err)
	}
	in, err := Read(context.Background(), path, options())
	if err != nil || len(in.Problems) > 0 || len(in.Records) != 1 {
		t.Fatal(in, err)
	}
	// pyproj 3.4.1 (PROJ 9.1.1): 87.02° W, 43.31° N.
	if r := in.Records[0]; r.Lon != -87.02 || r.Lat != 43.31 || r.Host != "slippery-elm" || r.Inspected != 3 || r.Found != 1 || r.Day() != "2025-11-22" {
		t.Errorf("read as %+v", r)
	}
	if len(in.Notes) != 1 || !strings.Contains(in.Notes[0], `"weather"`) {
		t.Errorf("notes %q", in.Notes)
	}
}
