package raster

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/airbusgeo/godal"
)

// CRS is a coordinate reference system as a layer declares it, its horizontal
// part.
type CRS struct {
	WKT       string  // "" when the layer declares none
	EPSG      int     // 0 when it has no code
	Name      string  // for people
	Projected bool    // else geographic (degrees)
	Unit      float64 // metres per unit of a projected CRS
	UnitName  string
}

// ParseCRS reads "EPSG:n" or WKT. Nothing else is accepted: the general
// parser of the library behind would open files and addresses.
func ParseCRS(text string) (CRS, error) {
	if err := Setup(); err != nil {
		return CRS{}, err
	}
	t := strings.TrimSpace(text)
	if code, ok := strings.CutPrefix(strings.ToUpper(t), "EPSG:"); ok {
		n, err := strconv.Atoi(strings.TrimSpace(code))
		if err != nil || n < 1 {
			return CRS{}, fmt.Errorf("coordinate system %q: want EPSG: and a whole number", clipped(t))
		}
		wkt, err := wktOfEPSG(n)
		if err != nil {
			return CRS{}, fmt.Errorf("coordinate system EPSG:%d is not known", n)
		}
		return DescribeCRS(wkt)
	}
	if strings.Contains(t, "[") {
		return DescribeCRS(t)
	}
	return CRS{}, fmt.Errorf("coordinate system %q: want EPSG:number or WKT", clipped(t))
}

func wktOfEPSG(n int) (string, error) {
	if n > math.MaxInt32 { // the library would take the lower half of its bits
		return "", fmt.Errorf("no code is that large")
	}
	sr, err := godal.NewSpatialRefFromEPSG(n, godal.ErrLogger(strict))
	if err != nil {
		return "", err
	}
	defer sr.Close()
	return sr.WKT(godal.ErrLogger(strict))
}

// DescribeCRS reads a WKT's name, code and unit. Of a system with heights it
// gives the horizontal part.
func DescribeCRS(wkt string) (CRS, error) {
	if err := Setup(); err != nil {
		return CRS{}, err
	}
	if strings.ContainsRune(wkt, 0) { // the library would stop reading there
		return CRS{}, fmt.Errorf("coordinate system %q is not WKT: it holds a zero byte", clipped(wkt))
	}
	sr, err := godal.NewSpatialRefFromWKT(wkt, godal.ErrLogger(strict))
	if err != nil {
		return CRS{}, fmt.Errorf("coordinate system %q not understood: %w", clipped(wkt), err)
	}
	defer sr.Close()
	if _, compound := sr.AttrValue("COMPD_CS", 0); compound {
		whole, err := sr.WKT(godal.ErrLogger(strict))
		if err != nil {
			return CRS{}, fmt.Errorf("coordinate system %q not understood: %w", clipped(wkt), err)
		}
		if part, ok := firstPart(whole); ok {
			return DescribeCRS(part)
		}
	}
	c := CRS{WKT: wkt, Projected: sr.Projected(), Unit: 1, UnitName: "metre"}
	if !c.Projected && !sr.Geographic() {
		return CRS{}, fmt.Errorf("coordinate system %q is neither projected nor geographic", clipped(wkt))
	}
	for _, key := range []string{"PROJCS", "GEOGCS"} {
		if name, ok := sr.AttrValue(key, 0); ok && c.Name == "" {
			c.Name = strings.ReplaceAll(name, "_", " ")
		}
	}
	if sr.AuthorityName("") == "EPSG" {
		c.EPSG, _ = strconv.Atoi(sr.AuthorityCode(""))
	}
	if c.Projected {
		if name, ok := sr.AttrValue("PROJCS|UNIT", 0); ok {
			c.UnitName = name
		}
		if v, ok := sr.AttrValue("PROJCS|UNIT", 1); ok {
			if f, err := strconv.ParseFloat(v, 64); err == nil && f > 0 {
				c.Unit = f
			}
		}
	} else {
		c.UnitName = "degree"
	}
	return c, nil
}

// firstPart gives the first system inside a COMPD_CS (WKT 1, as the library
// writes it): the horizontal one.
func firstPart(compound string) (string, bool) {
	text, ok := strings.CutPrefix(compound, "COMPD_CS[")
	if !ok {
		return "", false
	}
	start, depth, quoted := -1, 0, false
	for i, b := range []byte(text) {
		switch {
		case b == '"': // a quote within a name is doubled
			quoted = !quoted
		case quoted:
		case b == ',' && start < 0:
			start = i + 1
		case b == '[':
			depth++
		case b == ']':
			if depth--; depth == 0 && start >= 0 {
				return text[start : i+1], true
			}
		}
	}
	return "", false
}

// clipped keeps what a person wrote short enough for an error line.
func clipped(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > 60 {
		return string(r[:59]) + "…"
	}
	return s
}

// UTM gives the WGS 84 / UTM zone that holds the point (degrees): EPSG 32601
// to 32660 north of the equator, 32701 to 32760 south. The zones are the plain
// 6° ones, without the exceptions of the military grid around Norway and
// Svalbard. Longitudes may run from -180 to 180 or from 0 to 360; 180 is -180.
func UTM(lon, lat float64) (CRS, error) {
	if !(lat >= -90 && lat <= 90) {
		return CRS{}, fmt.Errorf("latitude %.2f is not on the globe (90° S to 90° N): check the layer's coordinate system", lat)
	}
	if !(lat >= -80 && lat <= 84) {
		polar := 3413 // NSIDC Sea Ice Polar Stereographic North
		if lat < 0 {
			polar = 3031 // Antarctic Polar Stereographic
		}
		return CRS{}, fmt.Errorf("latitude %.2f lies outside the UTM zones (80° S to 84° N): name a projected frame.crs in metres, such as EPSG:%d (polar stereographic)", lat, polar)
	}
	if !(lon >= -180 && lon <= 360) {
		return CRS{}, fmt.Errorf("longitude %.2f is not on the globe (180° W to 180° E): check the layer's coordinate system", lon)
	}
	zone := int(math.Floor((lon+180)/6))%60 + 1
	code := 32600 + zone
	if lat < 0 {
		code = 32700 + zone
	}
	return ParseCRS(fmt.Sprintf("EPSG:%d", code))
}

// SameCRS tells whether two WKTs mean the same system.
func SameCRS(a, b string) bool {
	if a == b {
		return true
	}
	sa, err := godal.NewSpatialRefFromWKT(a, godal.ErrLogger(strict))
	if err != nil {
		return false
	}
	defer sa.Close()
	sb, err := godal.NewSpatialRefFromWKT(b, godal.ErrLogger(strict))
	if err != nil {
		return false
	}
	defer sb.Close()
	return sa.IsSame(sb)
}

// TransformBounds gives the bounds (west, south, east, north) in another CRS
// of a rectangle, from points along its edges and inside.
func TransformBounds(b [4]float64, from, to string) ([4]float64, error) {
	if SameCRS(from, to) {
		return b, nil
	}
	const n = 21
	var xs, ys []float64
	for i := range n {
		for j := range n {
			xs = append(xs, b[0]+(b[2]-b[0])*float64(i)/(n-1))
			ys = append(ys, b[1]+(b[3]-b[1])*float64(j)/(n-1))
		}
	}
	ok, err := TransformPoints(xs, ys, from, to)
	if err != nil {
		return b, err
	}
	out := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for i := range xs {
		if ok[i] {
			out[0], out[1] = min(out[0], xs[i]), min(out[1], ys[i])
			out[2], out[3] = max(out[2], xs[i]), max(out[3], ys[i])
		}
	}
	if !(out[0] <= out[2]) {
		return b, fmt.Errorf("the rectangle %.6g %.6g %.6g %.6g cannot be expressed in the other coordinate system", b[0], b[1], b[2], b[3])
	}
	return out, nil
}

// TransformPoints moves points in place and tells which of them could be moved.
func TransformPoints(xs, ys []float64, from, to string) ([]bool, error) {
	if len(xs) == 0 {
		return nil, nil
	}
	if err := Setup(); err != nil {
		return nil, err
	}
	sf, err := godal.NewSpatialRefFromWKT(from, godal.ErrLogger(strict))
	if err != nil {
		return nil, fmt.Errorf("coordinate system not understood: %w", err)
	}
	defer sf.Close()
	st, err := godal.NewSpatialRefFromWKT(to, godal.ErrLogger(strict))
	if err != nil {
		return nil, fmt.Errorf("coordinate system not understood: %w", err)
	}
	defer st.Close()
	t, err := godal.NewTransform(sf, st, godal.ErrLogger(strict))
	if err != nil {
		return nil, fmt.Errorf("no way between the two coordinate systems: %s", strings.Join(strings.Fields(err.Error()), " "))
	}
	defer t.Close()
	ok := make([]bool, len(xs))
	// The call reports single failures both ways; the flags say which.
	_ = t.TransformEx(xs, ys, nil, ok)
	for i := range ok {
		ok[i] = ok[i] && !math.IsInf(xs[i], 0) && !math.IsNaN(xs[i]) && !math.IsInf(ys[i], 0) && !math.IsNaN(ys[i])
	}
	return ok, nil
}

const wgs84 = `GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]`

// WGS84 is the WKT of geographic WGS 84 (EPSG:4326), used in longitude, latitude order.
func WGS84() string { return wgs84 }
