package terrain

import (
	"slices"
	"sort"
	"testing"

	"rillwood/raster"
)

func TestStrahlerPublishedNetwork(t *testing.T) {
	var c struct {
		Upstream map[string][]string `json:"upstream"`
		Order    map[string]int      `json:"expected_strahler"`
		Shreve   map[string]int      `json:"expected_shreve"`
	}
	published(t, "strahler", &c)
	var names []string
	for n := range c.Upstream {
		names = append(names, n)
	}
	sort.Strings(names)
	down := slices.Repeat([]int{-1}, len(names))
	for n, above := range c.Upstream {
		for _, a := range above {
			down[slices.Index(names, a)] = slices.Index(names, n)
		}
	}
	order, magnitude := Strahler(down)
	for i, n := range names {
		if order[i] != c.Order[n] || magnitude[i] != c.Shreve[n] {
			t.Errorf("%s: order %d magnitude %d, want %d and %d", n, order[i], magnitude[i], c.Order[n], c.Shreve[n])
		}
	}
}

func TestStrahlerThreeEqualTributaries(t *testing.T) {
	order, magnitude := Strahler([]int{3, 3, 3, -1})
	if order[3] != 2 || magnitude[3] != 3 {
		t.Errorf("got order %d magnitude %d, want 2 and 3", order[3], magnitude[3])
	}
}

// A drawn network, two heads that meet and run on to the south: the directions
// by hand.
func TestLinksOfADrawnNetwork(t *testing.T) {
	const w, h = 5, 5
	dir := slices.Repeat([]uint8{2}, w*h) // south
	dir[0*w+1], dir[1*w+1] = 2, 1         // head at column 1 goes south-east at row 1
	dir[0*w+3], dir[1*w+3] = 2, 3         // head at column 3 goes south-west at row 1
	for x := range w {
		dir[4*w+x] = Out
	}
	area := make([]float32, w*h)
	for at, a := range map[int]float32{1: 10, 6: 11, 3: 10, 8: 12, 12: 24, 17: 25, 22: 26} {
		area[at] = a
	}
	r := &Routing{Dir: raster.PlaneOf(w, h, dir), Tiles: raster.NewTiling(w, h, 0)}
	got, err := Links(t.Context(), r, raster.PlaneOf(w, h, area), 10)
	if err != nil {
		t.Fatal(err)
	}
	want := []Link{
		{Cells: []int64{1, 6, 12}, Down: 2, Order: 1, Km2: 11},
		{Cells: []int64{3, 8, 12}, Down: 2, Order: 1, Km2: 12},
		{Cells: []int64{12, 17, 22}, Down: -1, Order: 2, Km2: 26},
	}
	if len(got) != len(want) {
		t.Fatalf("%d links, want %d: %+v", len(got), len(want), got)
	}
	for i, l := range got {
		if !slices.Equal(l.Cells, want[i].Cells) || l.Down != want[i].Down || l.Order != want[i].Order || l.Km2 != want[i].Km2 {
			t.Errorf("link %d: got %+v, want %+v", i, l, want[i])
		}
	}
}

func TestLinksHoldEveryStreamCell(t *testing.T) {
	for seed := range 80 {
		g, _ := rough(seed)
		r, a := routed(t, &Surface{Z: g.plane()}, Options{})
		links, err := Links(t.Context(), r, a, 4)
		if err != nil {
			t.Fatal(err)
		}
		begins := map[int64]int{}
		inside := map[int64]bool{}
		for k, l := range links {
			begins[l.Cells[0]] = k
			for j, c := range l.Cells {
				inside[c] = true
				if j > 0 {
					if n, _ := g.step(int(l.Cells[j-1]), int(r.Dir.Mem()[l.Cells[j-1]])); int64(n) != c {
						t.Fatalf("seed %d link %d: cell %d does not drain to %d", seed, k, l.Cells[j-1], c)
					}
				}
			}
		}
		for k, l := range links {
			last := l.Cells[len(l.Cells)-1]
			want, ok := begins[last]
			if !ok || want == k {
				want = -1
			}
			if l.Down != want {
				t.Fatalf("seed %d link %d ends at %d: down %d, want %d", seed, k, last, l.Down, want)
			}
			if l.Down >= 0 && links[l.Down].Order < l.Order {
				t.Fatalf("seed %d: order falls from %d to %d downstream", seed, l.Order, links[l.Down].Order)
			}
		}
		for i, v := range a.Mem() {
			if (v >= 4) != inside[int64(i)] {
				t.Fatalf("seed %d cell %d: area %v, in a link %v", seed, i, v, inside[int64(i)])
			}
		}
	}
}
