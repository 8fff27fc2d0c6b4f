package terrain

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rillwood/raster"
)

var unlimited = BreachLimit{Steps: 60, Cost: math.Inf(1)}

func TestBreachPublishedGrid(t *testing.T) {
	var c struct {
		Input     grid     `json:"input"`
		Pit       [2]int   `json:"pit"`
		Path      [][2]int `json:"expected_path"`
		Cost      float64  `json:"expected_cost"`
		Expected  grid     `json:"expected_dem"`
		Fill      float64  `json:"fill_alternative_depth_at_pit"`
		Tolerance float64  `json:"tolerance"`
	}
	published(t, "breach_least_cost", &c)
	w, _ := c.Input.size()
	z := c.Input.plane()
	r, err := FindRemedy(z, c.Pit[1], c.Pit[0], unlimited)
	if err != nil {
		t.Fatal(err)
	}
	if r.Breach == nil {
		t.Fatal("no way out found")
	}
	var want []int64
	for _, p := range c.Path {
		want = append(want, int64(p[0]*w+p[1]))
	}
	if !slices.Equal(r.Breach.Cells, want) || r.Breach.Cost != c.Cost {
		t.Errorf("got way %v at cost %v, want %v at %v", r.Breach.Cells, r.Breach.Cost, want, c.Cost)
	}
	// The pit is the only cell of its hollow, so the depth is the whole sum.
	if r.Fill != c.Fill {
		t.Errorf("filling: got %v m, want %v m", r.Fill, c.Fill)
	}
	if r.Carve {
		t.Errorf("cutting %v m is preferred to raising %v m", r.Breach.Cost, r.Fill)
	}
	if err := r.Breach.Carve(z); err != nil {
		t.Fatal(err)
	}
	compareCells(t, z.Mem(), c.Expected.cells(), w, c.Tolerance)
}

// A road across a valley: one cell of dam against a pond of many.
func dammedValley() ground {
	const w, h = 30, 11
	g := ground{w: w, h: h, z: make([]float32, w*h)}
	for i := range g.z {
		x, y := i%w, i/w
		g.z[i] = float32(40-x) + 5*float32(max(y-5, 5-y))
		if x == 20 {
			g.z[i] = float32(40 + max(y-5, 5-y))
		}
	}
	return g
}

func TestBreachIsPreferredBehindADam(t *testing.T) {
	g := dammedValley()
	z := g.plane()
	r, err := FindRemedy(z, 19, 5, unlimited)
	if err != nil {
		t.Fatal(err)
	}
	if r.Breach == nil || !r.Carve {
		t.Fatalf("got %+v, want a cut through the dam", r)
	}
	if want := []int64{5*30 + 19, 5*30 + 20, 5*30 + 21}; !slices.Equal(r.Breach.Cells, want) {
		t.Errorf("way %v, want %v", r.Breach.Cells, want)
	}
	if err := r.Breach.Carve(z); err != nil {
		t.Fatal(err)
	}
	rt, err := Route(t.Context(), &Surface{Z: z}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if rt.Stats.Pits != 0 {
		t.Errorf("%d pits left behind the cut", rt.Stats.Pits)
	}
}

func TestBreachKeepsItsLimits(t *testing.T) {
	z := dammedValley().plane()
	for _, c := range []struct {
		name string
		l    BreachLimit
		ok   bool
	}{
		{"as long as needed", BreachLimit{Steps: 2, Cost: 100}, true},
		{"too long", BreachLimit{Steps: 1, Cost: 100}, false},
		{"as dear as allowed", BreachLimit{Steps: 9, Cost: 40 - 21}, true},
		{"too dear", BreachLimit{Steps: 9, Cost: 40 - 21 - 0.5}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, ok, err := FindBreach(z, 19, 5, c.l)
			if err != nil {
				t.Fatal(err)
			}
			if ok != c.ok {
				t.Errorf("got %v (%+v), want %v", ok, b, c.ok)
			}
		})
	}
}

func TestBreachNearTheEdgeOfTheMap(t *testing.T) {
	z := raster.PlaneOf(4, 3, []float32{10, 10, 10, 10, 9, 1, 6, 7, 10, 10, 10, 10})
	b, ok, err := FindBreach(z, 1, 1, unlimited)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	// No lower ground: out over the lowest way to the edge, on the level.
	if want := []int64{5, 4}; b.Cost != 8 || !slices.Equal(b.Cells, want) {
		// (1,1) to (0,1) costs 8; over (2,1) and (3,1) it would be 5 + 6.
		t.Errorf("got %v at %v, want %v at 8", b.Cells, b.Cost, want)
	}
	for _, v := range b.Z {
		if v != 1 {
			t.Errorf("ramp %v, want level at 1", b.Z)
		}
	}
}

func TestBreachOfNothing(t *testing.T) {
	z := raster.PlaneOf(3, 3, []float32{1, 1, 1, 1, nan, 1, 1, 1, 1})
	r, err := FindRemedy(z, 1, 1, unlimited)
	if err != nil {
		t.Fatal(err)
	}
	if r.Breach != nil || r.Carve || !math.IsInf(r.Fill, 1) {
		t.Errorf("got %+v for a cell without ground", r)
	}
}

// cheapest relaxes the cost of reaching each cell until nothing changes, and
// gives the least among the cells that are lower than the pit or at the edge.
func cheapest(g ground, pit int) float64 {
	cost := make([]float64, len(g.z))
	for i := range cost {
		cost[i] = math.Inf(1)
	}
	cost[pit] = 0
	for changed := true; changed; {
		changed = false
		for i := range g.z {
			for d := range 8 {
				j, ok := g.step(i, d)
				if !ok || g.z[j] != g.z[j] || g.z[i] != g.z[i] {
					continue
				}
				if c := cost[i] + max(0, float64(g.z[j])-float64(g.z[pit])); c < cost[j] {
					cost[j], changed = c, true
				}
			}
		}
	}
	best := math.Inf(1)
	for i, v := range g.z {
		if v == v && (v < g.z[pit] || g.beyond(i)) {
			best = min(best, cost[i])
		}
	}
	return best
}

func TestBreachIsTheCheapestAndDrains(t *testing.T) {
	for seed := range 200 {
		g, rng := rough(3 * seed) // noise
		pit := rng.IntN(len(g.z))
		if g.z[pit] != g.z[pit] {
			continue
		}
		z := raster.PlaneOf(g.w, g.h, slices.Clone(g.z))
		b, ok, err := FindBreach(z, pit%g.w, pit/g.w, unlimited)
		if err != nil || !ok {
			t.Fatal(seed, ok, err)
		}
		if want := cheapest(g, pit); !near(b.Cost, want, 1e-9) {
			t.Fatalf("seed %d: cost %v, want %v", seed, b.Cost, want)
		}
		if err := b.Carve(z); err != nil {
			t.Fatal(err)
		}
		for k, c := range b.Cells {
			v := z.Mem()[c]
			if v > g.z[c] {
				t.Fatalf("seed %d: cell %d raised from %v to %v", seed, c, g.z[c], v)
			}
			if k > 0 && v > z.Mem()[b.Cells[k-1]] {
				t.Fatalf("seed %d: the way rises to %v at step %d", seed, v, k)
			}
		}
	}
}

// The lowest cell of a map can only be left over the map's edge, so the hollow
// to fill is the whole lake that filling makes around it.
func TestFillCostEqualsWhatFillRaises(t *testing.T) {
	for seed := range 100 {
		rng := rand.New(rand.NewPCG(uint64(seed), 9))
		g := ground{w: 5 + rng.IntN(25), h: 5 + rng.IntN(25)}
		g.z = make([]float32, g.w*g.h)
		for i := range g.z {
			g.z[i] = rng.Float32()
		}
		pit := (1+rng.IntN(g.h-2))*g.w + 1 + rng.IntN(g.w-2)
		g.z[pit] = -1
		up := floodFill(g)
		level := up[pit]
		in, queue := map[int]bool{pit: true}, []int{pit}
		var want float64
		for len(queue) > 0 {
			i := queue[0]
			queue = queue[1:]
			want += float64(level) - float64(g.z[i])
			for d := range 8 {
				if j, ok := g.step(i, d); ok && !in[j] && g.z[j] < level {
					in[j] = true
					queue = append(queue, j)
				}
			}
		}
		r, err := FindRemedy(g.plane(), pit%g.w, pit/g.w, unlimited)
		if err != nil {
			t.Fatal(err)
		}
		if !near(r.Fill, want, 1e-6) {
			t.Fatalf("seed %d: filling takes %v m, want %v m", seed, r.Fill, want)
		}
		if r.Carve != (r.Breach.Cost <= r.Fill) {
			t.Fatalf("seed %d: carve %v with %v m to cut and %v m to fill", seed, r.Carve, r.Breach.Cost, r.Fill)
		}
	}
}

func TestFillBeyondTheLimitIsEndless(t *testing.T) {
	g := dammedValley()
	r, err := FindRemedy(g.plane(), 19, 5, BreachLimit{Steps: 2, Cost: 100})
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(r.Fill, 1) || !r.Carve {
		t.Errorf("got %+v, want a pond larger than the limit and a cut", r)
	}
}
