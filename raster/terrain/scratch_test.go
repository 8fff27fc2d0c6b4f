package terrain

import (
	"container/heap"
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"rillwood/raster"
)

type hp []struct {
	z float32
	i int
}

func (h hp) Len() int           { return len(h) }
func (h hp) Less(a, b int) bool { return h[a].z < h[b].z }
func (h hp) Swap(a, b int)      { h[a], h[b] = h[b], h[a] }
func (h *hp) Push(x any) {
	*h = append(*h, x.(struct {
		z float32
		i int
	}))
}
func (h *hp) Pop() any { o := *h; x := o[len(o)-1]; *h = o[:len(o)-1]; return x }

func refFill(z []float32, w, h int) []float32 {
	out := append([]float32{}, z...)
	seen := make([]bool, w*h)
	q := &hp{}
	for i := range z {
		if z[i] != z[i] {
			seen[i] = true
			continue
		}
		x, y := i%w, i/w
		edge := false
		for d := range 8 {
			nx, ny := x+dx[d], y+dy[d]
			if nx < 0 || ny < 0 || nx >= w || ny >= h || z[ny*w+nx] != z[ny*w+nx] {
				edge = true
			}
		}
		if edge {
			seen[i] = true
			heap.Push(q, struct {
				z float32
				i int
			}{z[i], i})
		}
	}
	for q.Len() > 0 {
		c := heap.Pop(q).(struct {
			z float32
			i int
		})
		x, y := c.i%w, c.i/w
		for d := range 8 {
			nx, ny := x+dx[d], y+dy[d]
			if nx < 0 || ny < 0 || nx >= w || ny >= h {
				continue
			}
			j := ny*w + nx
			if seen[j] {
				continue
			}
			seen[j] = true
			out[j] = max(z[j], c.z)
			heap.Push(q, struct {
				z float32
				i int
			}{out[j], j})
		}
	}
	return out
}

func randomZ(rng *rand.Rand, w, h int) []float32 {
	z := make([]float32, w*h)
	mode := rng.IntN(3)
	for i := range z {
		switch mode {
		case 0:
			z[i] = rng.Float32() * 10
		case 1:
			z[i] = float32(rng.IntN(4))
		case 2:
			z[i] = float32(math.Round(5*math.Sin(float64(i%w)/3) + 5*math.Cos(float64(i/w)/4) + rng.Float64()*3))
		}
		if rng.IntN(40) == 0 {
			z[i] = float32(math.NaN())
		}
	}
	return z
}

func TestScratchRoute(t *testing.T) {
	for seed := range 400 {
		rng := rand.New(rand.NewPCG(uint64(seed), 1))
		w, h := 1+rng.IntN(40), 1+rng.IntN(40)
		z := randomZ(rng, w, h)
		want := refFill(z, w, h)
		var first []uint8
		for _, tile := range []int{0, 1 + rng.IntN(9), 3 + rng.IntN(20)} {
			got, err := Fill(context.Background(), raster.PlaneOf(w, h, z), Options{Tile: tile, Workers: 2})
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range got.Mem() {
				if v != want[i] && (v == v || want[i] == want[i]) {
					t.Fatalf("seed %d tile %d %dx%d cell %d: fill %v want %v", seed, tile, w, h, i, v, want[i])
				}
			}
			r, err := Route(context.Background(), &Surface{Z: raster.PlaneOf(w, h, z)}, Options{Tile: tile, Workers: 2})
			if err != nil {
				t.Fatal(err)
			}
			d := r.Dir.Mem()
			for i := range d {
				j, n := i, 0
				for d[j] < 8 {
					j += dy[d[j]]*w + dx[d[j]]
					n++
					if n > w*h {
						t.Fatalf("seed %d tile %d loop at %d", seed, tile, i)
					}
				}
				if z[i] == z[i] && d[j] != Out {
					t.Fatalf("seed %d ends in %d", seed, d[j])
				}
			}
			if first == nil {
				first = append([]uint8{}, d...)
			} else {
				for i := range d {
					if d[i] != first[i] {
						t.Fatalf("seed %d tile %d %dx%d differs at %d: %d vs %d", seed, tile, w, h, i, d[i], first[i])
					}
				}
			}
		}
	}
}

func synth(w, h int) []float32 {
	rng := rand.New(rand.NewPCG(7, 7))
	z := make([]float32, w*h)
	for y := range h {
		for x := range w {
			fx, fy := float64(x), float64(y)
			z[y*w+x] = float32(200 + 0.01*fx + 40*math.Sin(fx/300)*math.Cos(fy/270) + 8*math.Sin(fx/41+fy/60) + 2*math.Sin(fx/9)*math.Cos(fy/7) + 0.3*rng.Float64())
		}
	}
	return z
}

func BenchmarkRoute(b *testing.B) {
	w, h := 5000, 4000
	z := raster.PlaneOf(w, h, synth(w, h))
	for b.Loop() {
		r, err := Route(context.Background(), &Surface{Z: z}, Options{Tile: 512, Workers: 2})
		if err != nil {
			b.Fatal(err)
		}
		b.Logf("%+v", r.Stats)
	}
}

func TestScratchAcc(t *testing.T) {
	for seed := range 300 {
		rng := rand.New(rand.NewPCG(uint64(seed), 1))
		w, h := 1+rng.IntN(40), 1+rng.IntN(40)
		z := randomZ(rng, w, h)
		r, err := Route(context.Background(), &Surface{Z: raster.PlaneOf(w, h, z)}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		d := r.Dir.Mem()
		want := make([]float32, w*h)
		for i := range d {
			if d[i] == NoData {
				want[i] = float32(math.NaN())
				continue
			}
			j := i
			for {
				want[j]++
				if d[j] >= 8 {
					break
				}
				j += dy[d[j]]*w + dx[d[j]]
			}
		}
		for _, tile := range []int{0, 1 + rng.IntN(9), 3 + rng.IntN(20)} {
			r.Tiles = raster.NewTiling(w, h, tile)
			a, err := Accumulate(context.Background(), r, 1, nil, Options{Tile: tile, Workers: 2})
			if err != nil {
				t.Fatal(err)
			}
			for i, v := range a.Mem() {
				if v != want[i] && v == v {
					t.Fatalf("seed %d tile %d cell %d: %v want %v", seed, tile, i, v, want[i])
				}
			}
		}
	}
}
func BenchmarkAcc(b *testing.B) {
	w, h := 5000, 4000
	z := raster.PlaneOf(w, h, synth(w, h))
	r, err := Route(context.Background(), &Surface{Z: z}, Options{Tile: 512, Workers: 2})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := Accumulate(context.Background(), r, 1, nil, Options{Tile: 512, Workers: 2}); err != nil {
			b.Fatal(err)
		}
	}
}

func TestScratchHeights(t *testing.T) {
	for seed := range 300 {
		rng := rand.New(rand.NewPCG(uint64(seed), 1))
		w, h := 1+rng.IntN(40), 1+rng.IntN(40)
		z := randomZ(rng, w, h)
		zp := raster.PlaneOf(w, h, z)
		r, err := Route(context.Background(), &Surface{Z: zp}, Options{})
		if err != nil { t.Fatal(err) }
		a, _ := Accumulate(context.Background(), r, 1, nil, Options{})
		d := r.Dir.Mem()
		sizes := []float64{0, 8, 15, 40}
		st := &Streams{Area: a, Threshold: 4, Sizes: sizes}
		for _, tile := range []int{0, 1 + rng.IntN(9), 3 + rng.IntN(20)} {
			r.Tiles = raster.NewTiling(w, h, tile)
			err := Heights(context.Background(), st, r, zp, Options{Tile: tile, Workers: 2}, func(_ int, v *View) error {
				for i := range v.Tile.W*v.Tile.H {
					x, y := v.Tile.X+i%v.Tile.W, v.Tile.Y+i/v.Tile.W
					g := y*w + x
					for s := range sizes {
						want := int64(-1)
						if d[g] != NoData {
						for j := g; ; j += dy[d[j]]*w + dx[d[j]] {
							if float64(a.Mem()[j]) >= max(4, sizes[s]) { want = int64(j); break }
							if d[j] >= 8 { break }
						} }
						got := v.Bases[v.Base[i]].Cell[s]
						if got != want { t.Errorf("seed %d tile %d cell %d size %d: %d want %d", seed, tile, g, s, got, want) }
						if want >= 0 && (v.Bases[v.Base[i]].Z[s] != z[want] || v.Bases[v.Base[i]].Area[s] != a.Mem()[want]) { t.Errorf("facts") }
					}
				}
				return nil
			})
			if err != nil { t.Fatal(err) }
			if t.Failed() { t.FailNow() }
		}
	}
}
