package raster

import (
	"math"
	"testing"
)

func TestParseCRS(t *testing.T) {
	for _, c := range []struct {
		text, name string
		epsg       int
		projected  bool
		unit       float64 // metres, from the EPSG registry
	}{
		{"EPSG:32617", "WGS 84 / UTM zone 17N", 32617, true, 1},
		{" epsg:4326 ", "WGS 84", 4326, false, 1},
		{"EPSG:2264", "NAD83 / North Carolina (ftUS)", 2264, true, 1200.0 / 3937},
		{WGS84(), "WGS 84", 4326, false, 1},
	} {
		got, err := ParseCRS(c.text)
		if err != nil {
			t.Errorf("%s: %v", c.text, err)
			continue
		}
		if got.EPSG != c.epsg || got.Name != c.name || got.Projected != c.projected || math.Abs(got.Unit-c.unit) > 1e-9 {
			t.Errorf("%s: got %d %q projected %v unit %v", c.text, got.EPSG, got.Name, got.Projected, got.Unit)
		}
	}
	for _, bad := range []string{"", "32617", "EPSG:", "EPSG:-1", "EPSG:99999999", "UTM 17", "http://127.0.0.1:9/crs", "/etc/hostname", "PROJCS[nonsense", `LOCAL_CS["here"]`, "+proj=utm +zone=17"} {
		if c, err := ParseCRS(bad); err == nil {
			t.Errorf("%q was taken for %q", bad, c.Name)
		}
	}
}

func TestUTMZoneOfAPoint(t *testing.T) {
	for _, c := range []struct {
		lon, lat float64
		epsg     int
	}{{-81, 40, 32617}, {3, 0, 32631}, {-180, 10, 32601}, {179.9, 10, 32660}, {180, 10, 32601}, {151, -24.3, 32756},
		{-78.0001, 42, 32617}, {-78, 42, 32618}, {3, -1, 32731}, {0, 84, 32631}, {0, -80, 32731}, {279, 40, 32617}, {360, 10, 32631}} {
		got, err := UTM(c.lon, c.lat)
		if err != nil || got.EPSG != c.epsg {
			t.Errorf("%v %v: got EPSG:%d (%v), want EPSG:%d", c.lon, c.lat, got.EPSG, err, c.epsg)
		}
	}
	for _, p := range [][2]float64{
		{0, 85}, {0, 84.0001}, {0, -81}, {0, -80.0001}, {0, math.NaN()},
		{math.NaN(), 0}, {-180.0001, 0}, {361, 0}, {math.Inf(1), 0}, {math.Inf(-1), 0},
	} {
		if c, err := UTM(p[0], p[1]); err == nil {
			t.Errorf("longitude %v, latitude %v lies in %q", p[0], p[1], c.Name)
		}
	}
}

// The central meridian and the equator meet at false easting 500 km, false
// northing 0 (definition of UTM).
func TestTransformPointsUsesLongitudeLatitudeOrder(t *testing.T) {
	xs, ys := []float64{3, 3, math.NaN()}, []float64{0, 45, 0}
	ok, err := TransformPoints(xs, ys, WGS84(), wktOf(t, "EPSG:32631"))
	if err != nil {
		t.Fatal(err)
	}
	if !ok[0] || math.Abs(xs[0]-500000) > 1e-3 || math.Abs(ys[0]) > 1e-3 {
		t.Errorf("3° E 0°: got %v %v (%v), want 500000 0", xs[0], ys[0], ok[0])
	}
	// Meridian arc to 45°: 4,984,944.378 m × 0.9996 (WGS 84; from memory).
	if !ok[1] || math.Abs(ys[1]-4984944.378*0.9996) > 0.01 {
		t.Errorf("3° E 45°: got northing %v (%v)", ys[1], ok[1])
	}
	if ok[2] {
		t.Error("a point that is not a number was moved")
	}
}

func TestTransformBoundsHoldsTheBulge(t *testing.T) {
	utm := wktOf(t, "EPSG:32617")
	b, err := TransformBounds([4]float64{-84, 40, -78, 42}, WGS84(), utm)
	if err != nil {
		t.Fatal(err)
	}
	// The parallel of 40° sags between the corners: lowest on the meridian.
	xs, ys := []float64{-81, -84}, []float64{40, 40}
	if _, err := TransformPoints(xs, ys, WGS84(), utm); err != nil {
		t.Fatal(err)
	}
	if math.Abs(b[1]-ys[0]) > 1 || b[1] >= ys[1] {
		t.Errorf("south %v, want %v (corner %v)", b[1], ys[0], ys[1])
	}
	same := [4]float64{1, 2, 3, 4}
	if got, err := TransformBounds(same, utm, wktOf(t, "EPSG:32617")); err != nil || got != same {
		t.Errorf("same system: got %v (%v)", got, err)
	}
}
