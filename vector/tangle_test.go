package vector

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// scribble is a ring through random places: n sides cross about n²/5 times.
func scribble(r *rand.Rand, n int) orb.Ring {
	var out orb.Ring
	for range n {
		out = append(out, orb.Point{1000 * r.Float64(), 1000 * r.Float64()})
	}
	return append(out, out[0])
}

// Mending takes time by the crossings there are: a scribble is left out.
func TestScribblesAreLeftOut(t *testing.T) {
	needsGEOS(t)
	r := rand.New(rand.NewPCG(121, 122))
	var many, tiles orb.MultiPolygon
	for i := range 3000 {
		if i < 300 {
			many = append(many, orb.Polygon{box(0, 0, 10, 10)})
		}
		x, y := float64(i%60), float64(i/60)
		tiles = append(tiles, orb.Polygon{box(x, y, x+1, y+1)})
	}
	l := OutLayer{Name: "odd", Geometry: "MultiPolygon", Features: []Feature{
		{Geometry: orb.Polygon{scribble(r, 3000)}},
		{Geometry: orb.Polygon{scribble(r, 30)}},
		{Geometry: many},  // one square many times
		{Geometry: tiles}, // many squares that should have been one
		{Geometry: orb.Polygon{box(0, 0, 2000, 2000), scribble(r, 3000)}},
	}}
	got, err := Read(t.Context(), Query{Path: gpkg(t, 32618, l), Kind: Polygons}, "")
	if err != nil {
		t.Fatal(err)
	}
	areas := map[int64]float64{}
	for _, f := range got.Features {
		areas[f.FID] = areaOf(f.Geometry)
	}
	if len(areas) != 3 || areas[2] == 0 || math.Abs(areas[3]-100) > 1e-9 || math.Abs(areas[4]-3000) > 1e-9 {
		t.Errorf("areas by FID %v", areas)
	}
	if w := strings.Join(got.Warnings, "\n"); !strings.Contains(w, "2 features (FID 1, 5) left out: the outline crosses itself too often") || !strings.Contains(w, "3 features (FID 2, 3, 4) with a broken") {
		t.Errorf("warnings %q", w)
	}
}

// Crossings counted one pair at a time decide as the index does.
func TestTangledAgainstAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(123, 124))
	yes := 0
	for i := range 12 {
		ring := scribble(r, 140+8*i)
		n := 0
		for i := 1; i < len(ring); i++ {
			for j := 1; j < i; j++ {
				a, b, c, d := ring[i-1], ring[i], ring[j-1], ring[j]
				if turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0 {
					n++
				}
			}
		}
		want := n > 5000+len(ring)-1
		if got := tangled(orb.Polygon{ring}); got != want {
			t.Errorf("%d sides, %d crossings: tangled %t", len(ring)-1, n, got)
		}
		if want {
			yes++
		}
	}
	if yes == 0 || yes == 12 {
		t.Errorf("%d of 12 rings are tangled", yes)
	}
}
