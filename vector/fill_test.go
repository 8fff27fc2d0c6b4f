package vector

import (
	"math"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/raster"
)

func filled(t testing.TB, f raster.Frame, s *raster.Scratch, polygons ...orb.Geometry) []uint8 {
	t.Helper()
	p, err := raster.NewPlane[uint8](f.W, f.H, s)
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	if _, err := FillPolygons(f, polygons, 1, p); err != nil {
		t.Fatal(err)
	}
	out := make([]uint8, f.Cells())
	if err := p.Read(0, 0, f.W, f.H, out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestFillPolygonsByHand(t *testing.T) {
	f := small(6, 5) // x 0–60, y 0–50
	ring := func(w, s, e, n float64) orb.Ring { return orb.Ring{{w, s}, {e, s}, {e, n}, {w, n}, {w, s}} }
	for _, c := range []struct {
		name    string
		polygon orb.Geometry
		want    []uint8
	}{
		{"with a hole", orb.Polygon{ring(2, 2, 58, 48), ring(22, 12, 38, 38)}, []uint8{
			1, 1, 1, 1, 1, 1,
			1, 1, 0, 0, 1, 1,
			1, 1, 0, 0, 1, 1,
			1, 1, 0, 0, 1, 1,
			1, 1, 1, 1, 1, 1}},
		{"beyond the frame", orb.Polygon{ring(-1e7, -1e7, 14, 26)}, []uint8{
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			1, 0, 0, 0, 0, 0,
			1, 0, 0, 0, 0, 0,
			1, 0, 0, 0, 0, 0}},
		{"two parts", orb.MultiPolygon{{ring(0, 40, 10, 50)}, {ring(50, 0, 60, 10)}}, []uint8{
			1, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 1}},
		{"no centre inside", orb.Polygon{ring(6, 6, 14, 44)}, make([]uint8, 30)},
		{"far off", orb.Polygon{ring(1e300, 1e300, 1.1e300, 1.1e300)}, make([]uint8, 30)},
		// West and north edges run through centres and count, east and south do not.
		{"edges on centres", orb.Polygon{ring(5, 15, 25, 35)}, []uint8{
			0, 0, 0, 0, 0, 0,
			1, 1, 0, 0, 0, 0,
			1, 1, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0}},
		{"not closed", orb.Polygon{{{2, 2}, {58, 2}, {58, 12}, {2, 12}}}, []uint8{
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			0, 0, 0, 0, 0, 0,
			1, 1, 1, 1, 1, 1}},
		{"no ring", orb.Polygon{}, make([]uint8, 30)},
		{"none", nil, make([]uint8, 30)},
	} {
		t.Run(c.name, func(t *testing.T) {
			if d := cmp.Diff(c.want, filled(t, f, nil, c.polygon)); d != "" {
				t.Errorf("cells (-want +got):\n%s", d)
			}
		})
	}
}

func TestFillPolygonsRefuses(t *testing.T) {
	f := small(4, 4)
	p := raster.PlaneOf(4, 4, make([]uint8, 16))
	for _, g := range []orb.Geometry{orb.Point{1, 1}, orb.Polygon{{{0, 0}, {math.NaN(), 0}, {1, 1}, {0, 0}}}} {
		if _, err := FillPolygons(f, []orb.Geometry{g}, 1, p); err == nil {
			t.Errorf("%v: no error", g)
		}
	}
}

// star is a ring around a place with a random reach in each direction; it does
// not cross itself.
func star(r *rand.Rand, cx, cy, reach float64) orb.Ring {
	n := 3 + r.IntN(30)
	var out orb.Ring
	for i := range n {
		a := 2 * math.Pi * (float64(i) + 0.8*r.Float64()) / float64(n)
		d := reach * (0.2 + 0.8*r.Float64())
		out = append(out, orb.Point{cx + d*math.Cos(a), cy + d*math.Sin(a)})
	}
	return append(out, out[0])
}

func TestFillPolygonsAgainstPointInPolygon(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	f := small(60, 50)
	s, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for i := range 60 {
		var m orb.MultiPolygon
		for range 1 + r.IntN(4) {
			cx, cy := 600*r.Float64(), 500*r.Float64()
			outer := star(r, cx, cy, 250)
			hole := star(r, cx, cy, 40) // inside: the outer ring reaches at least 50
			m = append(m, orb.Polygon{outer, hole})
		}
		scratch := s
		if i%2 == 0 {
			scratch = nil
		}
		got := filled(t, f, scratch, m)
		for c := range got {
			x, y := f.Center(c%f.W, c/f.W)
			want := uint8(0)
			for _, p := range m {
				if planar.RingContains(p[0], orb.Point{x, y}) != planar.RingContains(p[1], orb.Point{x, y}) {
					want = 1
				}
			}
			if got[c] != want {
				t.Fatalf("case %d: cell %d is %d, want %d", i, c, got[c], want)
			}
		}
	}
}

// Neighbours that share edges take every cell once, also where the edges run
// through cell centres.
func TestFillPolygonsSharesNoCell(t *testing.T) {
	f := small(40, 40)
	r := rand.New(rand.NewPCG(7, 8))
	for range 20 {
		// A fan of triangles around a centre covers the frame exactly once.
		c := orb.Point{5 * float64(r.IntN(80)), 5 * float64(r.IntN(80))}
		var rim []orb.Point
		for i := range 8 {
			rim = append(rim, orb.Point{5 * float64(10*i), 0})
		}
		for i := range 8 {
			rim = append(rim, orb.Point{400, 5 * float64(10*i)})
		}
		for i := range 8 {
			rim = append(rim, orb.Point{400 - 5*float64(10*i), 400})
		}
		for i := range 8 {
			rim = append(rim, orb.Point{0, 400 - 5*float64(10*i)})
		}
		p := raster.PlaneOf(40, 40, make([]uint8, 1600))
		var fan []orb.Geometry
		for i := range rim {
			fan = append(fan, orb.Polygon{{c, rim[i], rim[(i+1)%len(rim)], c}})
		}
		n, err := FillPolygons(f, fan, 1, p)
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range p.Mem() {
			if v != 1 {
				t.Fatalf("centre %v: cell %d in no triangle", c, i)
			}
		}
		if n != 1600 {
			t.Errorf("centre %v: %d cells written, want 1600", c, n)
		}
	}
}

func TestFillPolygonValues(t *testing.T) {
	f := small(3, 1)
	p := raster.PlaneOf(3, 1, make([]uint8, 3))
	box := func(w, e float64) orb.Geometry { return orb.Polygon{{{w, 0}, {e, 0}, {e, 10}, {w, 10}, {w, 0}}} }
	n, err := FillPolygonValues(f, []orb.Geometry{box(0, 20), box(10, 30)}, func(i int) uint8 { return uint8(i) + 7 }, p)
	if err != nil || n != 4 {
		t.Errorf("%d cells, %v", n, err)
	}
	if d := cmp.Diff([]uint8{7, 8, 8}, p.Mem()); d != "" {
		t.Error(d)
	}
}

// The same polygons burned by GDAL's own program, which takes cells by their
// centres as well.
func TestFillPolygonsAgainstGDAL(t *testing.T) {
	burn, err1 := exec.LookPath("gdal_rasterize")
	translate, err2 := exec.LookPath("gdal_translate")
	if err1 != nil || err2 != nil {
		t.Skip("gdal_rasterize and gdal_translate are not installed")
	}
	r := rand.New(rand.NewPCG(9, 10))
	f := small(200, 150)
	l := OutLayer{Name: "p", Geometry: "Polygon"}
	var all []orb.Geometry
	for range 40 {
		g := orb.Polygon{star(r, 2000*r.Float64(), 1500*r.Float64(), 300)}
		all = append(all, g)
		l.Features = append(l.Features, Feature{Geometry: g})
	}
	path := gpkg(t, 32618, l)
	tif, raw := filepath.Join(t.TempDir(), "a.tif"), filepath.Join(t.TempDir(), "a.bin")
	if out, err := command(burn, "-q", "-burn", "1", "-ot", "Byte", "-te", "0", "0", "2000", "1500", "-tr", "10", "10", path, tif).CombinedOutput(); err != nil {
		t.Fatalf("gdal_rasterize: %v\n%s", err, out)
	}
	if out, err := command(translate, "-q", "-of", "ENVI", tif, raw).CombinedOutput(); err != nil {
		t.Fatalf("gdal_translate: %v\n%s", err, out)
	}
	want := readFile(t, raw)
	got := filled(t, f, nil, all...)
	different := 0
	for i := range got {
		if got[i] != want[i] {
			different++
		}
	}
	if different > 0 {
		t.Errorf("%d of %d cells differ", different, len(got))
	}
}

func TestCellsOfPoints(t *testing.T) {
	f := small(5, 4)
	got := CellsOfPoints(f, []orb.Point{{0, 40}, {49.9, 0.1}, {50, 10}, {10, 0}, {-0.1, 20}, {25, 25}, {math.NaN(), 1}, {1, math.Inf(-1)}})
	if d := cmp.Diff([]int{0, 19, -1, -1, -1, 7, -1, -1}, got); d != "" {
		t.Errorf("cells (-want +got):\n%s", d)
	}
}

func BenchmarkFillPolygons(b *testing.B) {
	r := rand.New(rand.NewPCG(11, 12))
	f := small(4000, 4000)
	var all []orb.Geometry
	for range 20000 {
		all = append(all, orb.Polygon{star(r, 40000*r.Float64(), 40000*r.Float64(), 400)})
	}
	p := raster.PlaneOf(f.W, f.H, make([]uint8, f.Cells()))
	for b.Loop() {
		if _, err := FillPolygons(f, all, 1, p); err != nil {
			b.Fatal(err)
		}
	}
}
