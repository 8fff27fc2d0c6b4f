package terrain

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rillwood/raster"
)

func TestSmoothingKernelCentreWeight(t *testing.T) {
	const n, more = 21, 2 * smoothRadius
	z := make([]float32, (n+more)*(n+more))
	z[len(z)/2] = 1
	out := make([]float32, n*n)
	new(smoother).window(z, n+more, n, n, out)
	// The weight of the centre in the 11 × 11 Gaussian, computed.
	if got := float64(out[n*n/2]); !near(got, 0.036004, 1e-6) {
		t.Errorf("got %v, want 0.036004", got)
	}
	var sum float64
	for _, v := range out {
		sum += float64(v)
	}
	if !near(sum, 1, 1e-5) {
		t.Errorf("weights sum to %v, want 1", sum)
	}
}

// A hole changes nothing beyond the Gaussian's reach, to the bit, although
// windows with holes take another way; within it the others weigh more.
func TestSmoothingAroundAHole(t *testing.T) {
	const n, more = 30, 2 * smoothRadius
	rng := rand.New(rand.NewPCG(5, 5))
	z := make([]float32, (n+more)*(n+more))
	for i := range z {
		z[i] = 100 + rng.Float32()
	}
	whole, holed := make([]float32, n*n), make([]float32, n*n)
	s := new(smoother)
	s.window(z, n+more, n, n, whole)
	const hx, hy = 14, 16
	z[(hy+smoothRadius)*(n+more)+hx+smoothRadius] = nan
	s.window(z, n+more, n, n, holed)
	plain := plainGround{z, n + more, n + more}.smooth()
	for i := range whole {
		x, y := i%n, i/n
		if far := max(x-hx, hx-x, y-hy, hy-y) > smoothRadius; far && whole[i] != holed[i] {
			t.Fatalf("cell %d,%d: %v with a hole, %v without", x, y, holed[i], whole[i])
		}
		if want := plain.at(x+smoothRadius, y+smoothRadius); !near(float64(holed[i]), float64(want), 1e-5) {
			t.Fatalf("cell %d,%d: got %v, want %v", x, y, holed[i], want)
		}
	}
}

// Coarse cells brought back by bilinear sampling keep an inclined plane,
// except in the half coarse cell along the edge.
func TestSamplerKeepsAnInclinedPlane(t *testing.T) {
	const w, h = 27, 18
	z := make([]float32, w*h)
	for i := range z {
		z[i] = float32(2*(i%w) + 5*(i/w))
	}
	g, k := plainGround{z, w, h}, 1
	for range 2 {
		g, k = g.thirds(), 3*k
		t.Run(fmt.Sprintf("%d times coarser", k), func(t *testing.T) {
			for _, tile := range []raster.Tile{{W: w, H: h}, {X: 7, Y: 5, W: 11, H: 9}} {
				var s sampler
				if err := s.read(raster.PlaneOf(g.w, g.h, g.z), k, tile); err != nil {
					t.Fatal(err)
				}
				for y := max(tile.Y, k/2); y < min(tile.Y+tile.H, h-k/2); y++ {
					s.row(y)
					for x := max(tile.X, k/2); x < min(tile.X+tile.W, w-k/2); x++ {
						if got := s.at(x - tile.X); !near(got, float64(z[y*w+x]), 1e-4) {
							t.Fatalf("cell %d,%d: got %v, want %v", x, y, got, z[y*w+x])
						}
					}
				}
			}
		})
	}
}

// Where coarse cells are missing the others stand for them.
func TestSamplerAmongGaps(t *testing.T) {
	coarse := []float32{nan, 4, 8, nan, nan, 2}
	var s sampler
	if err := s.read(raster.PlaneOf(3, 2, coarse), 3, raster.Tile{W: 9, H: 6}); err != nil {
		t.Fatal(err)
	}
	g := plainGround{coarse, 3, 2}
	for y := range 6 {
		s.row(y)
		for x := range 9 {
			if got, want := s.at(x), g.fine(x, y, 3); !near(got, want, 1e-6) {
				t.Errorf("cell %d,%d: got %v, want %v", x, y, got, want)
			}
		}
	}
}

// Counts of lower neighbours against cell by cell, both circles, ties and holes.
func TestLowerCountsTheCircle(t *testing.T) {
	for seed := range 40 {
		g, rng := rough(seed)
		if seed%4 == 0 {
			g.z[len(g.z)/2] = float32(math.Copysign(0, -1))
		}
		if seed%5 == 0 { // heights below the sea, and far apart
			for i := range g.z {
				g.z[i] = (g.z[i] - 4) * float32(math.Pow(10, float64(rng.IntN(9)-4)))
			}
		}
		tile := raster.Tile{W: g.w, H: g.h}
		var b scaleBuffers
		if err := b.read(g.plane(), tile); err != nil {
			t.Fatal(err)
		}
		b.ranked.load(b.in, g.h+2*halo)
		for _, c := range []struct {
			radius int
			half   []int
			shift  int
		}{{firstRadius, firstHalf, 0}, {laterRadius, laterHalf, 1}} {
			want := plainGround{g.z, g.w, g.h}.lower(c.radius)
			for i, v := range g.z {
				if v != v {
					continue
				}
				x, y := i%g.w, i/g.w
				first, later := b.ranked.lower(x&^3, y)
				n := []uint64{first, later}[c.shift] >> (16 * (x & 3)) & 0xffff
				if got := shareOf(int(n), b.ranked.neighbours(x, y, c.half)); got != want.z[i] {
					t.Fatalf("seed %d, radius %d, cell %d,%d: got %v, want %v", seed, c.radius, x, y, got, want.z[i])
				}
			}
		}
	}
}

// A whole window of heights that all differ uses every rank.
func TestRanksOfAFullWindow(t *testing.T) {
	const n = windowSide * windowSide
	z := make([]float32, n)
	rng := rand.New(rand.NewPCG(9, 2))
	for i, p := range rng.Perm(n) {
		z[i] = float32(p) * 0.37
	}
	var r ranked
	r.load(z, windowSide)
	if r.gaps {
		t.Error("gaps in a whole window")
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return int(z[a]/0.37+0.5) - int(z[b]/0.37+0.5) })
	for rank, i := range order {
		if got := int(r.rank[2*i]) | int(r.rank[2*i+1])<<8; got != rank {
			t.Fatalf("cell %d: rank %d, want %d", i, got, rank)
		}
	}
}
