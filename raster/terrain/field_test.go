package terrain

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"rillwood/raster"
)

var nan = float32(math.NaN())

// published reads a check case of fixtures/cases, which names its source.
func published(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("..", "..", "fixtures", "cases", name+".json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// grid is a table of a case; null stands for a missing value.
type grid [][]*float64

func (g grid) size() (w, h int) { return len(g[0]), len(g) }

func (g grid) cells() []float32 {
	var out []float32
	for _, row := range g {
		for _, v := range row {
			if v == nil {
				out = append(out, nan)
			} else {
				out = append(out, float32(*v))
			}
		}
	}
	return out
}

func (g grid) plane() *raster.Plane[float32] {
	w, h := g.size()
	return raster.PlaneOf(w, h, g.cells())
}

// ground is a small invented surface for properties.
type ground struct {
	w, h int
	z    []float32
}

func (g ground) plane() *raster.Plane[float32] { return raster.PlaneOf(g.w, g.h, g.z) }

// beyond tells whether a neighbour of cell i is missing.
func (g ground) beyond(i int) bool {
	for d := range 8 {
		if j, ok := g.step(i, d); !ok || g.z[j] != g.z[j] {
			return true
		}
	}
	return false
}

// step goes from cell i in direction d; ok is false off the map.
func (g ground) step(i, d int) (j int, ok bool) {
	x, y := i%g.w+dx[d], i/g.w+dy[d]
	return y*g.w + x, x >= 0 && y >= 0 && x < g.w && y < g.h
}

// rough is a surface of up to 40 × 40 cells, drawn from the seed: of noise, of
// a few levels (much of it flat) or of rounded hills, with holes.
func rough(seed int) (ground, *rand.Rand) {
	rng := rand.New(rand.NewPCG(uint64(seed), 1))
	g := ground{w: 1 + rng.IntN(40), h: 1 + rng.IntN(40)}
	g.z = make([]float32, g.w*g.h)
	kind, holes := seed%3, rng.IntN(2) == 0
	for i := range g.z {
		x, y := float64(i%g.w), float64(i/g.w)
		switch kind {
		case 0:
			g.z[i] = rng.Float32() * 10
		case 1:
			g.z[i] = float32(rng.IntN(4))
		default:
			g.z[i] = float32(int(math.Round(5*math.Sin(x/3) + 5*math.Cos(y/4) + rng.Float64()*3))) // an int has one zero
		}
		if holes && rng.IntN(40) == 0 {
			g.z[i] = nan
		}
	}
	return g, rng
}

// cut is one way to run a tiled kernel.
type cut struct {
	name string
	o    Options
}

// cuts are the whole map at once and a few random tilings, one of them with
// its planes in scratch files.
func cuts(t *testing.T, rng *rand.Rand) []cut {
	t.Helper()
	scratch, err := raster.NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { scratch.Close() })
	return []cut{
		{"whole", Options{}},
		{"small tiles", Options{Tile: 1 + rng.IntN(9), Workers: 2}},
		{"tiles", Options{Tile: 3 + rng.IntN(20), Workers: 1 + rng.IntN(4)}},
		{"scratch files", Options{Tile: 2 + rng.IntN(12), Workers: 3, Scratch: scratch}},
	}
}

// contents reads a plane wherever it lives, and frees it.
func contents[T raster.Elem](t *testing.T, p *raster.Plane[T]) []T {
	t.Helper()
	w, h := p.Size()
	out := make([]T, w*h)
	if err := p.Read(0, 0, w, h, out); err != nil {
		t.Fatal(err)
	}
	p.Close()
	return out
}

// inScratch moves a plane to a scratch file when there are such.
func inScratch[T raster.Elem](t *testing.T, w, h int, cells []T, s *raster.Scratch) *raster.Plane[T] {
	t.Helper()
	p, err := raster.NewPlane[T](w, h, s)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Write(0, 0, w, h, cells); err != nil {
		t.Fatal(err)
	}
	return p
}

// sameBits gives the first cell whose bits differ, or -1.
func sameBits(a, b []float32) int {
	for i := range a {
		if math.Float32bits(a[i]) != math.Float32bits(b[i]) && (a[i] == a[i] || b[i] == b[i]) {
			return i
		}
	}
	return -1
}

// near tells whether two values agree within tol, or are both missing.
func near(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol || got == want || got != got && want != want
}

// compareCells reports the cells that are off by more than tol.
func compareCells(t *testing.T, got, want []float32, w int, tol float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d cells, want %d", len(got), len(want))
	}
	for i := range got {
		if !near(float64(got[i]), float64(want[i]), tol) {
			t.Errorf("row %d column %d: got %v, want %v", i/w, i%w, got[i], want[i])
		}
	}
}

// routed routes a surface and gives the drainage area in cells.
func routed(t *testing.T, s *Surface, o Options) (*Routing, *raster.Plane[float32]) {
	t.Helper()
	r, err := Route(t.Context(), s, o)
	if err != nil {
		t.Fatal(err)
	}
	a, err := Accumulate(t.Context(), r, 1, nil, o)
	if err != nil {
		t.Fatal(err)
	}
	return r, a
}
