package vector

import (
	"encoding/binary"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"
)

// manyPolygons are small stars on a lattice, one in a hundred of them crossing
// itself.
func manyPolygons(n int) []Feature {
	r := rand.New(rand.NewPCG(21, 22))
	out := make([]Feature, n)
	for i := range out {
		x, y := 400000+float64(i%500)*100, 4600000+float64(i/500)*100
		ring := star(r, x, y, 45)
		if i%100 == 0 {
			ring = orb.Ring{{x, y}, {x + 40, y + 40}, {x + 40, y}, {x, y + 30}, {x, y}}
		}
		out[i] = Feature{Geometry: orb.Polygon{ring}, Values: []Value{IntValue(int64(i)), TextValue("a soil")}}
	}
	return out
}

// BenchmarkReadPolygons reads 200 000 polygons of 3 to 33 points from a
// GeoPackage, as they come and judged.
func BenchmarkReadPolygons(b *testing.B) {
	l := OutLayer{Name: "many", Geometry: "MultiPolygon", Fields: []FieldInfo{{"n", "Integer64"}, {"s", "String"}}, Features: manyPolygons(200000)}
	path := gpkg(b, 32618, l)
	to := mustCRS(b, 26918).WKT
	for _, kind := range []Kind{Any, Polygons} {
		b.Run(kind.String(), func(b *testing.B) {
			for b.Loop() {
				got, err := Read(b.Context(), Query{Path: path, Fields: []string{"n", "s"}, Kind: kind}, to)
				if err != nil || len(got.Features) != 200000 {
					b.Fatal(len(got.Features), err)
				}
			}
		})
	}
}

// BenchmarkMend judges rings of one size by the plain look and by GEOS.
func BenchmarkMend(b *testing.B) {
	r := rand.New(rand.NewPCG(23, 24))
	for _, size := range []int{5, 15, 30, 60} {
		var ring orb.Ring
		for len(ring) != size {
			ring = star(r, 0, 0, 45)
			if size > 33 {
				ring = doubled(doubled(ring))
				if len(ring) > size {
					ring = append(ring[:size-1:size-1], ring[0])
				}
			}
		}
		g := orb.Polygon{ring}
		name := string(rune('0'+size/10)) + string(rune('0'+size%10))
		b.Run("plain="+name, func(b *testing.B) {
			for b.Loop() {
				plainlyValid(g)
			}
		})
		b.Run("geos="+name, func(b *testing.B) {
			for b.Loop() {
				text, err := wkb.Marshal(g, binary.LittleEndian)
				if err != nil {
					b.Fatal(err)
				}
				mendWKB(text)
			}
		})
	}
}

// doubled is a ring with the middle of every side added.
func doubled(ring orb.Ring) orb.Ring {
	var out orb.Ring
	for i, p := range ring {
		if i > 0 {
			q := ring[i-1]
			out = append(out, orb.Point{(p[0] + q[0]) / 2, (p[1] + q[1]) / 2})
		}
		out = append(out, p)
	}
	return out
}
