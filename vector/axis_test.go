package vector

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// places are points of a layer with a name.
func places(pts ...orb.Point) OutLayer {
	l := OutLayer{Name: "places", Geometry: "Point", Fields: []FieldInfo{{"name", "String"}}}
	for _, p := range pts {
		l.Features = append(l.Features, Feature{Geometry: p, Values: []Value{TextValue("a place")}})
	}
	return l
}

func TestReadRefusesSwappedDegrees(t *testing.T) {
	// Bounds around 82° W 40° N and 75° W 42° N.
	midwest, east := &[4]float64{-83, 39, -81, 41}, &[4]float64{-76, 41, -74, 43}
	utm17 := mustCRS(t, 32617).WKT
	for _, c := range []struct {
		name string
		code int
		p    orb.Point
		q    Query
		to   string
		want string // "" when it is to be read
	}{
		{"longitude beyond 90", 4326, orb.Point{40, -95.5}, Query{}, "", "x from 40 to 40 and y from -95.5 to -95.5, but latitudes end at 90; set swap: true for it"},
		{"the same on the way to metres", 4326, orb.Point{40, -95.5}, Query{}, mustCRS(t, 32615).WKT, "latitudes end at 90"},
		{"the same, east of Greenwich", 4326, orb.Point{-33, 151}, Query{}, "", "latitudes end at 90"},
		{"outside the area of NAD83", 4269, orb.Point{40, -82}, Query{}, "", "its crs is made for another part of the world; set swap: true"},
		{"nothing tells", 4326, orb.Point{40, -82}, Query{}, "", ""},
		{"the bounds tell", 4326, orb.Point{40, -82}, Query{Bounds: midwest}, mustCRS(t, 4326).WKT, "would meet them with x and y changed over: its coordinates look swapped; set swap: true"},
		{"as it should be", 4326, orb.Point{-82, 40}, Query{Bounds: midwest}, mustCRS(t, 4326).WKT, ""},
		{"as it should be in NAD83", 4269, orb.Point{-82, 40}, Query{}, utm17, ""},
		{"NAD83 west of the antimeridian", 4269, orb.Point{172.5, 52.8}, Query{}, "", ""},
		{"longitude counted to 360", 4269, orb.Point{278, 40}, Query{}, "", ""},
		{"not degrees at all", 4326, orb.Point{40, 400000}, Query{}, "", ""},
		{"swap for what was right", 4326, orb.Point{-95.5, 40}, Query{Swap: true}, "", "latitudes end at 90; take swap: true away"},
		{"swap for what was right in NAD83", 4269, orb.Point{-82, 40}, Query{Swap: true}, "", "take swap: true away"},
		{"swap for what the bounds call right", 4326, orb.Point{-75, 42}, Query{Swap: true, Bounds: east}, mustCRS(t, 4326).WKT, "take swap: true away"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.q.Path = gpkg(t, c.code, places(c.p))
			l, err := Read(t.Context(), c.q, c.to)
			if c.want == "" {
				if err != nil || len(l.Features) != 1 {
					t.Fatalf("%d features, %v", len(l.Features), err)
				}
				return
			}
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Fatalf("error %v, want %q", err, c.want)
			}
			oneCleanLine(t, err.Error())
		})
	}
}

// Layers written latitude first and read with Swap are the layers written right.
func TestReadSwaps(t *testing.T) {
	turn := func(p orb.Point) orb.Point { return orb.Point{p[1], p[0]} }
	line := orb.LineString{{-95.2, 40.1}, {-95.1, 40.3}}
	shape := orb.Polygon{{{-95.2, 40.1}, {-95.1, 40.1}, {-95.1, 40.2}, {-95.2, 40.1}}}
	right := []OutLayer{
		places(orb.Point{-95.2, 40.1}, orb.Point{-94.8, 40.4}),
		{Name: "lines", Geometry: "LineString", Features: []Feature{{Geometry: line}}},
		{Name: "shapes", Geometry: "MultiPolygon", Features: []Feature{{Geometry: shape}}},
	}
	var wrong []OutLayer
	for _, l := range right {
		w := l
		w.Features = nil
		for _, f := range l.Features {
			pts := pointsOf(f.Geometry, nil)
			for i := range pts {
				pts[i] = turn(pts[i])
			}
			f.Geometry, _ = withPoints(orb.Clone(f.Geometry), pts)
			w.Features = append(w.Features, f)
		}
		wrong = append(wrong, w)
	}
	good, bad := gpkg(t, 4326, right...), gpkg(t, 4326, wrong...)
	box := &[4]float64{-95.3, 40, -95, 40.35}
	utm := mustCRS(t, 32615).WKT
	to, err := FromWGS84(utm)
	if err != nil {
		t.Fatal(err)
	}
	metres, err := to.Bounds(*box)
	if err != nil {
		t.Fatal(err)
	}
	for _, layer := range []string{"places", "lines", "shapes"} {
		for _, target := range []string{"", utm} {
			for _, bounds := range []*[4]float64{nil, box, &metres} {
				if bounds != nil && (target == "") != (bounds == box) {
					continue
				}
				q := Query{Path: good, Layer: layer, Bounds: bounds}
				want, err := Read(t.Context(), q, target)
				if err != nil {
					t.Fatal(err)
				}
				q.Path, q.Swap = bad, true
				got, err := Read(t.Context(), q, target)
				if err != nil {
					t.Fatal(err)
				}
				if d := cmp.Diff(want.Features, got.Features, cmp.AllowUnexported(Value{})); d != "" || len(want.Features) == 0 {
					t.Errorf("%s, bounds %v (-right +swapped):\n%s", layer, bounds, d)
				}
			}
		}
	}
}

func TestReadTellsALayerElsewhere(t *testing.T) {
	utm := mustCRS(t, 32618).WKT
	two := places(orb.Point{500000, 4600000}, orb.Point{510000, 4610000})
	for _, c := range []struct {
		name    string
		l       OutLayer
		q       Query
		outside bool
		want    string // of the warnings
	}{
		{"inside", two, Query{Bounds: &[4]float64{499000, 4599000, 501000, 4601000}}, false, ""},
		{"elsewhere", two, Query{Bounds: &[4]float64{600000, 4599000, 601000, 4601000}}, true, "it lies wholly outside the bounds"},
		{"between its features", two, Query{Bounds: &[4]float64{504000, 4604000, 505000, 4605000}}, true, "it lies wholly outside the bounds"},
		{"left out by the filter", two, Query{Where: "name = 'none'", Bounds: &[4]float64{499000, 4599000, 501000, 4601000}}, false, "no feature answers to"},
		{"filter, elsewhere", two, Query{Where: "name = 'none'", Bounds: &[4]float64{600000, 4599000, 601000, 4601000}}, true, "it lies wholly outside the bounds"},
		{"northing first", places(orb.Point{4600000, 500000}), Query{Bounds: &[4]float64{499000, 4599000, 501000, 4601000}}, true, "its coordinates look swapped; set swap: true for it"},
		{"northing first, swapped", places(orb.Point{4600000, 500000}), Query{Swap: true, Bounds: &[4]float64{499000, 4599000, 501000, 4601000}}, false, ""},
		{"no bounds", two, Query{Where: "name = 'none'"}, false, "no feature answers to"},
		{"no shape at all", OutLayer{Name: "places", Geometry: "Point", Features: []Feature{{}}}, Query{Bounds: &[4]float64{0, 0, 1, 1}}, true, "it lies wholly outside the bounds"},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.q.Path = gpkg(t, 32618, c.l)
			l, err := Read(t.Context(), c.q, utm)
			if err != nil {
				t.Fatal(err)
			}
			w := strings.Join(l.Warnings, "\n")
			if l.Outside != c.outside || !strings.Contains(w, c.want) || (c.want == "") != (w == "") {
				t.Errorf("outside %t, warnings %q; want %t, %q", l.Outside, w, c.outside, c.want)
			}
			for _, w := range l.Warnings {
				oneCleanLine(t, w)
			}
		})
	}
}

// Nothing inside the area of use of a CRS is ever called swapped, and what lies
// west of 90° W within it always is when it has been swapped.
func TestLooksSwappedProperties(t *testing.T) {
	// The area of use of NAD83 (EPSG:4269), as the register gives it, goes over
	// the antimeridian; from memory its east end is about 40.7° W.
	area, ok := areaOfUse(4269)
	if !ok || area[0] < area[2] || math.Abs(area[2]+40.73) > 0.5 {
		t.Fatalf("area of use of NAD83: %v, %t", area, ok)
	}
	r := rand.New(rand.NewPCG(81, 82))
	for range 5000 {
		w, s := -178+125*r.Float64(), 16+60*r.Float64()
		b := [4]float64{w, s, w + 10*r.Float64(), s + 10*r.Float64()}
		for _, code := range []int{4326, 4269, 0} {
			if why := looksSwapped(b, code); why != "" {
				t.Fatalf("%v in EPSG:%d: %s", b, code, why)
			}
			if b[0] < -90 && looksSwapped(turned(b), code) == "" {
				t.Fatalf("%v, swapped, in EPSG:%d passes", b, code)
			}
		}
		if b[2] < -65 && looksSwapped(turned(b), 4269) == "" && turned(b)[3] < 0 {
			t.Fatalf("%v, swapped, in NAD83 passes", b)
		}
	}
	if _, ok := areaOfUse(0); ok {
		t.Error("a CRS without a code has an area of use")
	}
}
