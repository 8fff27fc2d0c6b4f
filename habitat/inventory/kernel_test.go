package inventory

import (
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// field is random stands on a w×h grid, sorted, and the same as an image.
func field(seed uint64, w, h, n int) ([]stand, []float64) {
	rng := rand.New(rand.NewPCG(seed, 1))
	img := make([]float64, w*h)
	for range n {
		img[rng.IntN(w*h)] += float64(1 + rng.IntN(3))
	}
	var out []stand
	for i, v := range img {
		if v > 0 {
			out = append(out, stand{cell: int64(i), trees: [channels]float32{float32(v)}})
		}
	}
	return out, img
}

// smooth runs window by window over a w×h grid cut into tiles of side cells.
func smooth(w, h, side int, kernel []float64, run func(s *window, out []float64)) []float64 {
	whole := make([]float64, w*h)
	for y := 0; y < h; y += side {
		for x := 0; x < w; x += side {
			s := &window{x: x, y: y, w: min(side, w-x), h: min(side, h-y), kernel: kernel}
			s.row = make([]float64, s.w)
			out := make([]float64, s.w*s.h)
			run(s, out)
			for r := range s.h {
				copy(whole[(y+r)*w+x:], out[r*s.w:(r+1)*s.w])
			}
		}
	}
	return whole
}

func smoothStands(w, h, side int, kernel []float64, stands []stand) []float64 {
	return smooth(w, h, side, kernel, func(s *window, out []float64) { s.points(stands, w, allTrees, out) })
}

func smoothMask(w, h, side int, kernel []float64, outside []uint8) []float64 {
	r := len(kernel) - 1
	return smooth(w, h, side, kernel, func(s *window, out []float64) {
		wide := s.w + 2*r
		win := make([]uint8, wide*(s.h+2*r))
		for i := range win {
			x, y := s.x-r+i%wide, s.y-r+i/wide
			if win[i] = 1; x >= 0 && y >= 0 && x < w && y < h {
				win[i] = outside[y*w+x]
			}
		}
		s.mass(win, out)
	})
}

// brute sums the kernel over every source, two-dimensional and unsorted.
func brute(w, h int, kernel, img []float64) []float64 {
	r := len(kernel) - 1
	out := make([]float64, w*h)
	for i := range out {
		for j, v := range img {
			dx, dy := abs(i%w-j%w), abs(i/w-j/w)
			if v != 0 && dx <= r && dy <= r {
				out[i] += v * kernel[dx] * kernel[dy]
			}
		}
	}
	return out
}

func worst(a, b []float64) float64 {
	d := 0.0
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

func TestGaussianSumsToOne(t *testing.T) {
	for _, sigma := range []float64{0.01, 0.3, 1, 2.5, 10, 333.3} {
		k := gaussian(sigma)
		sum := k[0]
		for _, v := range k[1:] {
			sum += 2 * v
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("sigma %g: sum %.15g, want 1", sigma, sum)
		}
		if want := int(4*sigma+0.5) + 1; len(k) != want {
			t.Errorf("sigma %g: %d places, want %d", sigma, len(k), want)
		}
	}
	// A wide kernel's middle is the density of the normal distribution, 1/(σ√2π),
	// but for what is cut off.
	if k := gaussian(50); math.Abs(k[0]*50*math.Sqrt(2*math.Pi)-1) > 1e-4 {
		t.Errorf("middle of a wide kernel: %g", k[0])
	}
}

func TestPointsAgainstBruteForce(t *testing.T) {
	for seed := range uint64(4) {
		w, h := 37+int(seed)*11, 29+int(seed)*5
		stands, img := field(seed, w, h, 60)
		kernel := gaussian([]float64{0.4, 1.5, 3, 12}[seed])
		got := smoothStands(w, h, w+h, kernel, stands)
		if d := worst(got, brute(w, h, kernel, img)); d > 1e-12 {
			t.Errorf("seed %d: largest difference %g", seed, d)
		}
		for _, side := range []int{7, 16} {
			if !slices.Equal(got, smoothStands(w, h, side, kernel, stands)) {
				t.Errorf("seed %d: tiles of %d cells give other bits", seed, side)
			}
		}
	}
}

func TestMassAgainstBruteForce(t *testing.T) {
	for seed := range uint64(3) {
		w, h := 41, 33
		rng := rand.New(rand.NewPCG(seed, 7))
		outside := make([]uint8, w*h)
		img := make([]float64, w*h)
		for i := range outside {
			if outside[i] = uint8(rng.IntN(2)); seed == 0 {
				outside[i] = 0 // all of it surveyed
			}
			img[i] = 1 - float64(outside[i])
		}
		kernel := gaussian(2.2)
		if d := worst(smoothMask(w, h, 13, kernel, outside), brute(w, h, kernel, img)); d > 1e-12 {
			t.Errorf("seed %d: largest difference %g", seed, d)
		}
	}
}

// Reference library: scipy.ndimage.gaussian_filter, mode constant, truncate 4.
func TestKernelAgainstSciPy(t *testing.T) {
	w, h, sigma := 211, 160, 7.3
	stands, img := field(5, w, h, 900)
	outside := make([]uint8, w*h)
	ground := make([]float64, w*h)
	for i := range outside {
		dx, dy := float64(i%w-90), float64(i/w-70)
		if dx*dx+2*dy*dy > 60*60 {
			outside[i] = 1
		} else {
			ground[i] = 1
		}
	}
	dir := t.TempDir()
	in, out := filepath.Join(dir, "in"), filepath.Join(dir, "out")
	var b []byte
	for _, v := range append(img, ground...) {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
	}
	if err := os.WriteFile(in, b, 0o644); err != nil {
		t.Fatal(err)
	}
	python(t, "scipy.ndimage", `import sys, numpy as np
from scipy.ndimage import gaussian_filter
a = np.fromfile(sys.argv[1], "<f8").reshape(2, 160, 211)
np.stack([gaussian_filter(x, 7.3, mode="constant", truncate=4) for x in a]).tofile(sys.argv[2])`, in, out)
	b, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	want := make([]float64, 2*w*h)
	for i := range want {
		want[i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	kernel := gaussian(sigma)
	if d := worst(smoothStands(w, h, 64, kernel, stands), want[:w*h]); d > 1e-12 {
		t.Errorf("trees: largest difference from scipy %g", d)
	}
	if d := worst(smoothMask(w, h, 64, kernel, outside), want[w*h:]); d > 1e-12 {
		t.Errorf("surveyed ground: largest difference from scipy %g", d)
	}
}
