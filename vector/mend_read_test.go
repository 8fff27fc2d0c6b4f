package vector

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

// Through a file: broken shapes are counted by what became of them, and the
// coordinates of the valid ones are those of the file, bit for bit.
func TestReadMendsPolygons(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(61, 62))
	l := OutLayer{Name: "soils", Geometry: "MultiPolygon"}
	for _, c := range brokenShapes {
		l.Features = append(l.Features, Feature{Geometry: c.g})
	}
	for range 200 {
		x, y := 5e5*r.Float64(), 4.6e6*r.Float64()
		outer := star(r, x, y, 250)
		for len(outer) < 13 { // enough corners to keep clear of the hole
			outer = star(r, x, y, 250)
		}
		l.Features = append(l.Features, Feature{Geometry: orb.MultiPolygon{{outer, star(r, x, y, 40)}, {star(r, x+1000, y, 300)}}})
	}
	path := gpkg(t, 32618, l)
	plain, err := Read(t.Context(), Query{Path: path}, "")
	if err != nil {
		t.Fatal(err)
	}
	got, err := Read(t.Context(), Query{Path: path, Kind: Polygons}, "")
	if err != nil {
		t.Fatal(err)
	}
	asCame := map[int64]orb.Geometry{}
	for _, f := range plain.Features {
		asCame[f.FID] = f.Geometry
	}
	var mended, lost tally
	for i, c := range brokenShapes {
		fid := int64(i + 1)
		at := slices.IndexFunc(got.Features, func(f Feature) bool { return f.FID == fid })
		switch {
		case c.area == 0:
			lost.add(fid)
			if at >= 0 {
				t.Errorf("%s: read as %v", c.name, got.Features[at].Geometry)
			}
			continue
		case at < 0:
			t.Errorf("%s: not read", c.name)
			continue
		case !c.valid:
			mended.add(fid)
		}
		if a := areaOf(got.Features[at].Geometry); math.Abs(a-c.area) > 1e-9 {
			t.Errorf("%s: area %g, want %g", c.name, a, c.area)
		}
	}
	for _, f := range got.Features {
		if i := int(f.FID) - 1; i >= len(brokenShapes) || brokenShapes[i].valid {
			if !cmp.Equal(f.Geometry, asCame[f.FID]) {
				t.Errorf("FID %d was valid and changed", f.FID)
			}
		}
	}
	if want := len(brokenShapes) - lost.n + 200; len(got.Features) != want {
		t.Errorf("%d features, want %d", len(got.Features), want)
	}
	begin := fmt.Sprintf("%q: layer \"soils\": ", path)
	want := []string{
		begin + mended.String() + " with a broken or crossing outline mended",
		begin + lost.String() + " left out: nothing is left of the shape when it is mended",
	}
	if d := cmp.Diff(want, got.Warnings); d != "" || mended.n < 10 || lost.n < 5 {
		t.Errorf("warnings (-want +got):\n%s", d)
	}
}

func TestReadDropsStubsOfLines(t *testing.T) {
	l := OutLayer{Name: "brooks", Geometry: "MultiLineString", Features: []Feature{
		{Geometry: orb.MultiLineString{{{0, 0}, {1, 1}}, {{5, 5}}}},
		{Geometry: orb.LineString{{2, 2}}},
		{Geometry: orb.LineString{{3, 3}, {4, 4}}},
	}}
	got, err := Read(t.Context(), Query{Path: gpkg(t, 32618, l), Kind: Lines}, "")
	if err != nil {
		t.Fatal(err)
	}
	var all []orb.Geometry
	for _, f := range got.Features {
		all = append(all, f.Geometry)
	}
	want := []orb.Geometry{orb.MultiLineString{{{0, 0}, {1, 1}}}, orb.MultiLineString{{{3, 3}, {4, 4}}}}
	if d := cmp.Diff(want, all); d != "" {
		t.Errorf("lines (-want +got):\n%s", d)
	}
	w := strings.Join(got.Warnings, "\n")
	if !strings.Contains(w, "1 feature (FID 1) with") || !strings.Contains(w, "1 feature (FID 2) left out") {
		t.Errorf("warnings %q", w)
	}
}

// A spike that reaches the bounds goes when the outline is mended; the ground
// itself lies elsewhere.
func TestReadDropsWhatOnlyASpikeBroughtIn(t *testing.T) {
	needsGEOS(t)
	l := OutLayer{Name: "soils", Geometry: "Polygon", Features: []Feature{
		{Geometry: orb.Polygon{{{0, 0}, {10, 0}, {10, 5}, {100, 5}, {10, 5}, {10, 10}, {0, 10}, {0, 0}}}},
		{Geometry: orb.Polygon{box(80, 0, 120, 10)}},
	}}
	got, err := Read(t.Context(), Query{Path: gpkg(t, 32618, l), Kind: Polygons, Bounds: &[4]float64{90, 0, 110, 10}}, "")
	if err != nil || len(got.Features) != 1 || got.Features[0].FID != 2 || got.Outside {
		t.Errorf("features %v, outside %t, %v", got.Features, got.Outside, err)
	}
}
