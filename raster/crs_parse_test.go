package raster

import (
	"math"
	"strings"
	"testing"
)

// Names and units as in the EPSG register. The US survey foot is 1200/3937 m
// by definition (Mendenhall order, 1893).
func TestCRSReadAgainFromItsOwnWKT(t *testing.T) {
	for _, c := range []struct {
		text, name string
		epsg       int
		projected  bool
		unit       float64
	}{
		{"EPSG:4326", "WGS 84", 4326, false, 1},
		{"EPSG: 4269", "NAD83", 4269, false, 1},
		{"EPSG:32618", "WGS 84 / UTM zone 18N", 32618, true, 1},
		{"EPSG:5070", "NAD83 / Conus Albers", 5070, true, 1},
		{"EPSG:2264", "NAD83 / North Carolina (ftUS)", 2264, true, 1200.0 / 3937},
	} {
		got, err := ParseCRS(c.text)
		if err != nil || got.Name != c.name || got.EPSG != c.epsg || got.Projected != c.projected || math.Abs(got.Unit-c.unit) > 1e-12 {
			t.Errorf("%s: got %+v, %v", c.text, got, err)
		}
		again, err := ParseCRS(got.WKT)
		if err != nil || again != got {
			t.Errorf("%s: read again from its WKT: %+v, %v", c.text, again, err)
		}
	}
	if got, err := ParseCRS("EPSG:4326"); err != nil || !SameCRS(got.WKT, WGS84()) {
		t.Errorf("EPSG:4326 is not WGS84(): %v", err)
	}
}

func TestParseCRSOfAnESRIProjectionFile(t *testing.T) {
	// As ESRI software writes UTM zone 18 north: no codes, other names.
	got, err := ParseCRS(`PROJCS["NAD_1983_UTM_Zone_18N",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-75.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`)
	if err != nil || !got.Projected || got.Unit != 1 || got.Name != "NAD83 / UTM zone 18N" {
		t.Errorf("got %+v, %v", got, err)
	}
}

// A system with heights counts as its horizontal part. EPSG:5498 is NAD83
// (EPSG:4269) with NAVD88 heights, EPSG:6349 is NAD83(2011) (EPSG:6318) with
// the same (EPSG register, from memory).
func TestParseCRSKeepsTheHorizontalPart(t *testing.T) {
	for text, epsg := range map[string]int{"epsg:5498": 4269, "EPSG:6349": 6318} {
		got, err := ParseCRS(text)
		if err != nil || got.EPSG != epsg || got.Projected || strings.Contains(got.WKT, "VERT") {
			t.Errorf("%s: got %+v, %v", text, got, err)
		}
	}
	utm := wktOf(t, "EPSG:32617")
	got, err := ParseCRS(`COMPD_CS["a ""name"", with [marks]",` + utm + `,VERT_CS["NAVD88 height",VERT_DATUM["North American Vertical Datum 1988",2005],UNIT["metre",1]]]`)
	if err != nil || got.EPSG != 32617 || !SameCRS(got.WKT, utm) {
		t.Errorf("compound of UTM and heights: got %+v, %v", got, err)
	}
}

func TestParseCRSRefusesOnOneShortLine(t *testing.T) {
	long := strings.Repeat("PROJCS[\n", 1000)
	for _, s := range []string{
		"EPSG:x", "EPSG:99999999999", "EPSG:4294971622", // 2^32 + 4326
		"urn:ogc:def:crs:EPSG::4326", "/etc/passwd", "[", "a[\x00]", WGS84() + "\x00", "two\nlines", long,
		"EPSG:" + long, strings.Repeat("x", 5000), "EPSG:4978", // geocentric
		`LOCAL_CS["a site grid",UNIT["metre",1]]`, `ENGCRS["a site grid",EDATUM["stake"],CS[Cartesian,2],AXIS["x",east],AXIS["y",north],LENGTHUNIT["metre",1]]`,
	} {
		if c, err := ParseCRS(s); err == nil || strings.Contains(err.Error(), "\n") || len(err.Error()) > 400 {
			t.Errorf("%.40q: got %+v, error %v", s, c, err)
		}
	}
}
