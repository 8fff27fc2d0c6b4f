package terrain

import (
	"math"
	"testing"
)

// follow lists the cells water passes from cell i on, i first.
func (g ground) follow(dir []uint8, i int) []int {
	way := []int{i}
	for dir[i] < 8 {
		i, _ = g.step(i, int(dir[i]))
		way = append(way, i)
	}
	return way
}

func TestAccumulateCountsTheCellsUpstream(t *testing.T) {
	for seed := range 150 {
		g, rng := rough(seed)
		var want []float32
		for _, c := range cuts(t, rng) {
			r, a := routed(t, &Surface{Z: inScratch(t, g.w, g.h, g.z, c.o.Scratch)}, c.o)
			dir, got := contents(t, r.Dir), contents(t, a)
			if want == nil {
				want = make([]float32, len(dir))
				for i := range dir {
					if dir[i] == NoData {
						want[i] = nan
						continue
					}
					for _, j := range g.follow(dir, i) {
						want[j]++
					}
				}
			}
			if i := sameBits(got, want); i >= 0 {
				t.Fatalf("seed %d, %s, tile %d, cell %d: got %v, want %v", seed, c.name, c.o.Tile, i, got[i], want[i])
			}
		}
	}
}

func TestAreaIsConserved(t *testing.T) {
	const cellKm2 = 0.25 // exact in binary, so the sums are
	for seed := range 100 {
		g, _ := rough(seed)
		o := Options{Tile: 6, Workers: 2}
		r, err := Route(t.Context(), &Surface{Z: g.plane()}, o)
		if err != nil {
			t.Fatal(err)
		}
		a, err := Accumulate(t.Context(), r, cellKm2, nil, o)
		if err != nil {
			t.Fatal(err)
		}
		var leaving float64
		for i, d := range r.Dir.Mem() {
			if d == Out {
				leaving += float64(a.Mem()[i])
			}
		}
		if want := float64(r.Stats.Cells) * cellKm2; leaving != want {
			t.Fatalf("seed %d: %v km² leave the map, %v km² drain", seed, leaving, want)
		}
	}
}

func TestInflowsAreCarriedDown(t *testing.T) {
	for seed := range 60 {
		g, rng := rough(seed)
		o := Options{Tile: 5, Workers: 2}
		r, plain := routed(t, &Surface{Z: g.plane()}, o)
		in := Inflow{X: rng.IntN(g.w), Y: rng.IntN(g.h), Km2: 1024}
		with, err := Accumulate(t.Context(), r, 1, []Inflow{in, in}, o)
		if err != nil {
			t.Fatal(err)
		}
		on := map[int]bool{}
		if i := in.Y*g.w + in.X; g.z[i] == g.z[i] {
			for _, j := range g.follow(r.Dir.Mem(), i) {
				on[j] = true
			}
		}
		for i, a := range plain.Mem() {
			want := a
			if on[i] {
				want += 2048
			}
			if got := with.Mem()[i]; got != want && a == a {
				t.Fatalf("seed %d cell %d: got %v, want %v", seed, i, got, want)
			}
		}
	}
}

func TestAccumulateReportsItsProgress(t *testing.T) {
	g, _ := rough(4)
	last := 0.0
	o := Options{Tile: 5, Progress: func(done float64) {
		if done < last || done > 1 {
			t.Errorf("progress went from %v to %v", last, done)
		}
		last = done
	}}
	r, err := Route(t.Context(), &Surface{Z: g.plane()}, Options{Tile: 5})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Accumulate(t.Context(), r, 1, nil, o); err != nil {
		t.Fatal(err)
	}
	if math.Abs(last-1) > 1e-12 {
		t.Errorf("ended at %v, want 1", last)
	}
}
