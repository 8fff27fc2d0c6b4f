package vector

import (
	"errors"
	"math"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"
)

// As ESRI software writes UTM zone 18 north of NAD83: no codes, other names.
const esriUTM18 = `PROJCS["NAD_1983_UTM_Zone_18N",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-75.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`

func TestDescribeKnowsAProjectionFileWithoutCode(t *testing.T) {
	path := convert(t, gpkg(t, 32618, rivers()), "ESRI Shapefile", "shp")
	if err := os.WriteFile(strings.TrimSuffix(path, ".shp")+".prj", []byte(esriUTM18), 0o644); err != nil {
		t.Fatal(err)
	}
	got, err := Describe(path, "", "")
	if err != nil || got.EPSG != 26918 || got.CRSName != "NAD83 / UTM zone 18N" {
		t.Errorf("got EPSG:%d %q, %v; want EPSG:26918 \"NAD83 / UTM zone 18N\"", got.EPSG, got.CRSName, err)
	}
	// The same system, named in other words, is no contradiction.
	for _, crs := range []string{"EPSG:26918", esriUTM18} {
		l, err := Read(t.Context(), Query{Path: path, CRS: crs}, "")
		if err != nil || len(l.Warnings) > 0 {
			t.Errorf("%.20s: warnings %q, %v", crs, l.Warnings, err)
		}
	}
}

func TestDescribeKeepsTheHorizontalPart(t *testing.T) {
	// EPSG:5498 is NAD83 (EPSG:4269) with NAVD88 heights.
	got, err := Describe(gpkg(t, 32618, rivers()), "", "epsg:5498")
	if err != nil || got.EPSG != 4269 || got.CRSName != "NAD83" {
		t.Errorf("got EPSG:%d %q, %v", got.EPSG, got.CRSName, err)
	}
}

func TestTransformer(t *testing.T) {
	to, err := FromWGS84(mustCRS(t, 32618).WKT)
	if err != nil {
		t.Fatal(err)
	}
	if err := to.Points(nil); err != nil {
		t.Errorf("no points: %v", err)
	}
	// More points than one chunk of the C side, forth and back.
	var pts []orb.Point
	for i := range 10000 {
		pts = append(pts, orb.Point{-76 + float64(i%100)/50, 41 + float64(i/100)/50})
	}
	want := append([]orb.Point(nil), pts...)
	if err := to.Points(pts); err != nil {
		t.Fatal(err)
	}
	back, err := ToWGS84(mustCRS(t, 32618).WKT)
	if err != nil {
		t.Fatal(err)
	}
	if err := back.Points(pts); err != nil {
		t.Fatal(err)
	}
	for i := range pts {
		if math.Abs(pts[i][0]-want[i][0]) > 1e-9 || math.Abs(pts[i][1]-want[i][1]) > 1e-9 {
			t.Fatalf("point %d: %v came back as %v", i, want[i], pts[i])
		}
	}
	bad := append(append([]orb.Point(nil), want[:5000]...), orb.Point{0, math.Inf(1)})
	var at *PointError
	if err := to.Points(bad); !errors.As(err, &at) || at.Index != 5000 {
		t.Errorf("error %v, want one that names point 5000", err)
	}
}

func TestTransformerPublishedExample(t *testing.T) {
	// Snyder 1987, USGS Professional Paper 1395, numerical example of the
	// Albers equal-area conic on the Clarke 1866 ellipsoid (its numbers from
	// memory): standard parallels 29.5° and 45.5° N, origin 23° N 96° W, point
	// 35° N 75° W.
	wkt := `PROJCS["example",GEOGCS["Clarke 1866",DATUM["unknown",SPHEROID["Clarke 1866",6378206.4,294.978698213898]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],PROJECTION["Albers_Conic_Equal_Area"],PARAMETER["latitude_of_center",23],PARAMETER["longitude_of_center",-96],PARAMETER["standard_parallel_1",29.5],PARAMETER["standard_parallel_2",45.5],PARAMETER["false_easting",0],PARAMETER["false_northing",0],UNIT["metre",1]]`
	geo := `GEOGCS["Clarke 1866",DATUM["unknown",SPHEROID["Clarke 1866",6378206.4,294.978698213898]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`
	tr, err := NewTransformer(geo, wkt)
	if err != nil {
		t.Fatal(err)
	}
	p, err := tr.Point(orb.Point{-75, 35})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p[0]-1885472.7) > 0.1 || math.Abs(p[1]-1535925.0) > 0.1 {
		t.Errorf("got %.1f, want (1885472.7, 1535925.0)", p)
	}
}

func TestTransformerOfSeveralGoroutines(t *testing.T) {
	to, err := FromWGS84(mustCRS(t, 32618).WKT)
	if err != nil {
		t.Fatal(err)
	}
	want, err := to.Point(orb.Point{-75.5, 41.5})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 200 {
				if got, err := to.Point(orb.Point{-75.5, 41.5}); err != nil || got != want {
					t.Errorf("got %v, %v; want %v", got, err, want)
					return
				}
			}
		})
	}
	wg.Wait()
}

func TestTransformerBounds(t *testing.T) {
	to, err := ToWGS84(mustCRS(t, 5070).WKT)
	if err != nil {
		t.Fatal(err)
	}
	// Every point of the box must be inside the transformed box, nearly: the
	// sides are sampled.
	box := [4]float64{1.5e6, 2.0e6, 2.0e6, 2.5e6}
	b, err := to.Bounds(box)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 101 {
		for j := range 101 {
			p, err := to.Point(orb.Point{box[0] + 5e3*float64(i), box[1] + 5e3*float64(j)})
			if err != nil {
				t.Fatal(err)
			}
			const slack = 0.002
			if p[0] < b[0]-slack || p[0] > b[2]+slack || p[1] < b[1]-slack || p[1] > b[3]+slack {
				t.Fatalf("%v is outside %v", p, b)
			}
		}
	}
}

func TestTransformerGeometryIsACopy(t *testing.T) {
	to, err := FromWGS84(mustCRS(t, 32618).WKT)
	if err != nil {
		t.Fatal(err)
	}
	g := orb.Collection{orb.Point{-75, 42}, orb.MultiPolygon{{{{-75, 42}, {-74, 42}, {-74, 43}, {-75, 42}}}}}
	before := orb.Clone(g)
	moved, err := to.Geometry(g)
	if err != nil {
		t.Fatal(err)
	}
	if !orb.Equal(g, before) {
		t.Error("the geometry given was changed")
	}
	pts := pointsOf(moved, nil)
	if len(pts) != 5 || pts[0] != pts[1] || pts[1] != pts[4] || pts[0][0] < 499000 {
		t.Errorf("moved points %v", pts)
	}
}
