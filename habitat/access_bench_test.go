package habitat

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/raster"
	"rillwood/vector"
)

// BenchmarkAccessOfTenThousandPatches joins 10,000 patches of 40 border points
// to 200,000 parcels over 60 × 60 km. approach.BenchmarkTenThousandPatches is
// the other half: 500,000 sides of paths.
func BenchmarkAccessOfTenThousandPatches(b *testing.B) {
	const side, parcels = 60000.0, 200_000
	r := rand.New(rand.NewPCG(61, 62))
	path := filepath.Join(b.TempDir(), "parcels.gpkg")
	layer := vector.OutLayer{Name: "parcels", Geometry: "Polygon", Fields: []vector.FieldInfo{{Name: "Unit_Nm", Type: "String"}, {Name: "Pub_Access", Type: "String"}}}
	n := int(math.Sqrt(parcels))
	step := side / float64(n)
	for i := range n * n {
		x, y := float64(i%n)*step, float64(i/n)*step
		ring := orb.Ring{}
		for k := range 16 { // a wavy outline, half a parcel beyond its square at most
			s, c := math.Sincos(float64(k) / 16 * 2 * math.Pi)
			d := step * (0.45 + 0.2*r.Float64())
			ring = append(ring, orb.Point{x + step/2 + d*c, y + step/2 + d*s})
		}
		ring = append(ring, ring[0])
		code := []string{"OA", "RA", "XA", "UK"}[r.IntN(4)]
		layer.Features = append(layer.Features, vector.Feature{Geometry: orb.Polygon{ring}, Values: []vector.Value{vector.TextValue("parcel"), vector.TextValue(code)}})
	}
	utm, err := raster.ParseCRS("EPSG:32616")
	if err != nil {
		b.Fatal(err)
	}
	if err := vector.WriteGeoPackage(path, utm.WKT, []vector.OutLayer{layer}); err != nil {
		b.Fatal(err)
	}
	f := raster.Frame{W: side / 10, H: side / 10, X0: 0, Y0: side, Cell: 10, WKT: utm.WKT, EPSG: utm.EPSG, Name: utm.Name}
	src := []access.Source{{Query: vector.Query{Path: path}}}
	b.Run("read", func(b *testing.B) {
		for b.Loop() {
			land, _, err := access.Read(b.Context(), src, f, nil, runtime.NumCPU())
			if err != nil {
				b.Fatal(err)
			}
			land.Close()
		}
	})
	land, _, err := access.Read(b.Context(), src, f, nil, runtime.NumCPU())
	if err != nil {
		b.Fatal(err)
	}
	defer land.Close()
	b.Run("join", func(b *testing.B) {
		points := make([]orb.Point, 40)
		for b.Loop() {
			r := rand.New(rand.NewPCG(63, 64))
			for range 10_000 {
				cx, cy, size := side*r.Float64(), side*r.Float64(), 40+120*r.Float64()
				for k := range points {
					s, c := math.Sincos(float64(k) / 40 * 2 * math.Pi)
					points[k] = orb.Point{cx + size*c, cy + size*s}
				}
				if shares, _ := land.Over(points); shares == [5]float64{} {
					b.Fatal("no share")
				}
			}
		}
	})
}
