package compare

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/paulmach/orb"
)

// Random rectangles against counting every cell and choosing pairs one by one.
func TestMatchAgainstPlainCounting(t *testing.T) {
	const seed = 11
	random := rand.New(rand.NewPCG(seed, 0))
	for round := range 25 {
		lists := [2][]patch{}
		for side := range lists {
			for range 1 + random.IntN(6) {
				x, y := random.IntN(50), random.IntN(30)
				lists[side] = append(lists[side], patch{x0: x, y0: y, x1: x + 1 + random.IntN(12), y1: y + 1 + random.IntN(12), score: 0.5, suitability: 0.5})
			}
		}
		a, err := Open(made{run: "a", patches: lists[0]}.write(t), "A")
		if err != nil {
			t.Fatal(err)
		}
		b, err := Open(made{run: "b", patches: lists[1]}.write(t), "B")
		if err != nil {
			t.Fatal(err)
		}
		m, err := match(a, b)
		if err != nil {
			t.Fatal(err)
		}
		if want := plainMatch(lists[0], lists[1]); !slices.Equal(m.ofA, want) {
			t.Fatalf("seed %d, round %d: got %v, want %v\n%v\n%v", seed, round, m.ofA, want, lists[0], lists[1])
		}
	}
}

func plainMatch(a, b []patch) []int {
	cells := func(p, q patch) int {
		n := 0
		for y := p.y0; y < p.y1; y++ {
			for x := p.x0; x < p.x1; x++ {
				if x >= q.x0 && x < q.x1 && y >= q.y0 && y < q.y1 {
					n++
				}
			}
		}
		return n
	}
	of, taken := none(len(a)), map[int]bool{}
	for {
		bi, bj, most := -1, -1, 0
		for i, p := range a {
			for j, q := range b {
				n := cells(p, q)
				if of[i] >= 0 || taken[j] || 2*n < min(cells(p, p), cells(q, q)) {
					continue
				}
				if n > most {
					bi, bj, most = i, j, n
				}
			}
		}
		if bi < 0 {
			return of
		}
		of[bi], taken[bj] = bj, true
	}
}

// Half of the smaller is enough, a cell less is not; of two that share as much
// the better rank takes it.
func TestMatchByHand(t *testing.T) {
	rect := func(x0, y0, x1, y1 int) patch {
		return patch{x0: x0, y0: y0, x1: x1, y1: y1, score: 0.5, suitability: 0.5}
	}
	for _, c := range []struct {
		name string
		a, b []patch
		want []int
	}{
		{"half of the smaller", []patch{rect(0, 0, 10, 10)}, []patch{rect(5, 0, 15, 10)}, []int{0}},
		{"a column less", []patch{rect(0, 0, 10, 10)}, []patch{rect(6, 0, 16, 10)}, []int{-1}},
		{"small within large", []patch{rect(0, 0, 30, 30)}, []patch{rect(4, 4, 6, 6)}, []int{0}},
		{"two parts of one, the larger takes it", []patch{rect(0, 0, 20, 10)}, []patch{rect(0, 0, 8, 10), rect(8, 0, 20, 10)}, []int{1}},
		{"equal parts, the better rank takes it", []patch{rect(0, 0, 20, 10)}, []patch{rect(10, 0, 20, 10), rect(0, 0, 10, 10)}, []int{0}},
		{"one cell", []patch{rect(3, 3, 4, 4)}, []patch{rect(3, 3, 4, 4)}, []int{0}},
		{"none", []patch{rect(0, 0, 2, 2)}, nil, []int{-1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			a, err := Open(made{run: "a", patches: c.a}.write(t), "A")
			if err != nil {
				t.Fatal(err)
			}
			b, err := Open(made{run: "b", patches: c.b}.write(t), "B")
			if err != nil {
				t.Fatal(err)
			}
			m, err := match(a, b)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(m.ofA, c.want) {
				t.Errorf("got %v, want %v; shared %v", m.ofA, c.want, m.shared)
			}
		})
	}
}

// A shape that holds no cell centre still lies somewhere.
func TestSliverTakesItsCell(t *testing.T) {
	f := made{}.frame(t)
	spans, err := cellsOf(f, orb.MultiPolygon{{{{madeX0 + 21, madeY0 - 31}, {madeX0 + 23, madeY0 - 31}, {madeX0 + 23, madeY0 - 33}, {madeX0 + 21, madeY0 - 31}}}})
	if err != nil || fmt.Sprint(spans) != "[{3 2 3}]" {
		t.Errorf("got %v, %v", spans, err)
	}
	if _, err := cellsOf(f, orb.MultiPolygon{{{{0, 0}, {9e6, 0}, {9e6, 9e6}, {0, 0}}}}); err == nil {
		t.Error("a shape as large as a continent was taken")
	}
}
