package region

import (
	"math/rand/v2"
	"runtime"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestScoutableHandWorked(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		forbidden      string
		o              Options
	}{
		{name: "two blocks touching at a corner are one patch", in: "##.. ##.. ..## ..##", want: "aa.. aa.. ..aa ..aa"},
		{name: "two groups that touch are two patches", in: "aabb aabb", want: "aabb aabb"},
		{name: "a small hole is filled", in: "#### #.## ####", want: "aaaa aaaa aaaa", o: Options{MinHole: 2}},
		{name: "a hole of MinHole cells stays", in: "##### ##### ##.## ##.## ##### #####",
			want: "aaaaa aaaaa aa.aa aa.aa aaaaa aaaaa", o: Options{MinHole: 2}},
		{name: "a bay is no hole", in: "##.## ##.## ##### #####", want: "aa.aa aa.aa aaaaa aaaaa", o: Options{MinHole: 9}},
		{name: "a hole with another patch in it stays", in: "aaaaaa aaaaaa aabb.a aabbaa aaaaaa aaaaaa",
			want: "aaaaaa aaaaaa aabb.. aabbaa aaaaaa aaaaaa", o: Options{MinHole: 99, MinCells: 4}},
		{name: "keep-out ground is not filled", in: "###### ###### ##..## ###### ######", forbidden: "...... ...... ...#.. ...... ......",
			want: "aaaaaa aaaaaa aaa.aa aaaaaa aaaaaa", o: Options{MinHole: 9}},
		{name: "hairs and single cells go", in: "##..# ##### ##... .#...", want: "aa... aa... aa... ....."},
		{name: "a bar is cut in the middle", in: "######## ########", want: "aaaabbbb aaaabbbb", o: Options{MaxCells: 8}},
		{name: "a dumbbell is cut at its waist", in: "####...## ######### ######### ####...##",
			want: "aaaa...bb aaaaabbbb aaaaabbbb aaaa...bb", o: Options{MaxCells: 20}},
		{name: "too small and alone is dropped", in: "##.### ##.###", want: "...aaa ...aaa", o: Options{MinCells: 5}},
		{name: "too small joins the neighbour with the longer border", in: "bbbbaacc bbbbaacc ccccaacc cccccccc cccccccc",
			want: "aaaabbbb aaaabbbb bbbbbbbb bbbbbbbb bbbbbbbb", o: Options{MinCells: 7}},
		{name: "too small joins no patch of another kind", in: "bbbbaacc bbbbaacc ccccaacc cccccccc cccccccc",
			want: "aaaabbbb aaaabbbb bbbbbbbb bbbbbbbb bbbbbbbb", o: Options{MinCells: 7, Kinds: 2}},
		{name: "too small with neighbours of other kinds only is dropped", in: "aabbbb aabbbb", want: "..aaaa ..aaaa", o: Options{MinCells: 5, Kinds: 2}},
		{name: "a hole is filled with ground of its own kind only", in: "aaaaaa aaaaaa aa..aa aaaaaa aaaaaa", forbidden: "...... ...... ..ab.. ...... ......",
			want: "aaaaaa aaaaaa aaa.aa aaaaaa aaaaaa", o: Options{MinHole: 9, Kinds: 3}},
		{name: "too small does not join a patch that is full", in: "aabbbb aabbbb", want: "..aaaa ..aaaa", o: Options{MinCells: 5, MaxCells: 9}},
		{name: "a full patch may swell by a quarter", in: "aabbbbbbbb aabbbbbbbb", want: "aaaaaaaaaa aaaaaaaaaa", o: Options{MinCells: 5, MaxCells: 16}},
	} {
		t.Run(c.name, func(t *testing.T) {
			in, want := drawn(c.in), drawn(c.want)
			if c.forbidden != "" {
				c.o.Forbidden = drawn(c.forbidden).runs()
			}
			got := paint(in.w, in.h, Scoutable(in.runs(), c.o))
			if diff := cmp.Diff(want.picture(), got.picture()); diff != "" {
				t.Errorf("from %s (-want +got):\n%s", in.picture(), diff)
			}
		})
	}
}

// opened is the opening by a 2×2 square, cell by cell.
func opened(l labels) labels {
	out := labels{w: l.w, h: l.h, cell: make([]int, len(l.cell))}
	for y := range l.h {
		for x := range l.w {
			if v := l.at(x, y); v != 0 && l.at(x+1, y) == v && l.at(x, y+1) == v && l.at(x+1, y+1) == v {
				for _, i := range [4]int{0, 1, l.w, l.w + 1} {
					out.cell[y*l.w+x+i] = v
				}
			}
		}
	}
	return out
}

func TestOpeningCellByCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(24, 1).Draw(t, "raster")
		got := paint(l.w, l.h, []Patch{{Runs: open2(l.runs())}})
		if want := opened(l); got.picture() != want.picture() {
			t.Fatalf("opened %s\ninto %s\nwant %s", l.picture(), got.picture(), want.picture())
		}
	})
}

// filled is the filling of holes, cell by cell: complement of one patch, 4-connected.
func filled(l labels, patch, minHole int, forbidden labels) labels {
	// A rim of one cell keeps the outside in one piece.
	rim := labels{w: l.w + 2, h: l.h + 2, cell: make([]int, (l.w+2)*(l.h+2))}
	for y := range rim.h {
		for x := range rim.w {
			if l.at(x-1, y-1) != patch {
				rim.cell[y*rim.w+x] = 1
			}
		}
	}
	part := flood(rim, false)
	size, alone := make(map[int]int), make(map[int]bool)
	for i, p := range part.cell {
		if _, ok := alone[p]; !ok {
			alone[p] = true
		}
		size[p]++
		if l.at(i%rim.w-1, i/rim.w-1) != 0 {
			alone[p] = false
		}
	}
	out := labels{w: l.w, h: l.h, cell: make([]int, len(l.cell))}
	for i := range out.cell {
		x, y := i%l.w, i/l.w
		p := part.at(x+1, y+1)
		if l.cell[i] == patch || p > 1 && alone[p] && size[p] < minHole && forbidden.cell[i] == 0 {
			out.cell[i] = 1
		}
	}
	return out
}

func TestHolesCellByCell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(20, 3).Draw(t, "raster")
		forbidden := labels{w: l.w, h: l.h, cell: make([]int, len(l.cell))}
		for i := range forbidden.cell {
			if rapid.IntRange(0, 9).Draw(t, "forbidden") == 0 && l.cell[i] == 0 {
				forbidden.cell[i] = 1
			}
		}
		minHole := rapid.IntRange(1, 20).Draw(t, "minHole")
		whole := flood(l, true)
		runs := l.runs()
		label, n := Label(runs)
		for i, part := range split(runs, label, n) {
			got := paint(l.w, l.h, []Patch{{Runs: fillHoles(tidy(part), minHole, -2, newRowIndex(runs), newRowIndex(forbidden.runs()))}})
			want := filled(whole, i+1, minHole, forbidden)
			if got.picture() != want.picture() {
				t.Fatalf("holes of patch %d in %s\nfilled %s\nwant %s", i, whole.picture(), got.picture(), want.picture())
			}
		}
	})
}

func TestScoutableProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(28, 3).Draw(t, "raster")
		forbidden := labels{w: l.w, h: l.h, cell: make([]int, len(l.cell))}
		for i := range forbidden.cell {
			if l.cell[i] == 0 && (i*7919)%11 == 0 {
				forbidden.cell[i] = 1
			}
		}
		o := Options{
			MinCells:  rapid.IntRange(0, 12).Draw(t, "min"),
			MaxCells:  rapid.IntRange(0, 60).Draw(t, "max"),
			MinHole:   rapid.IntRange(0, 8).Draw(t, "hole"),
			Forbidden: forbidden.runs(),
		}
		runs := l.runs()
		before := append([]Run(nil), runs...)
		patches := Scoutable(runs, o)
		if diff := cmp.Diff(before, runs); diff != "" {
			t.Fatalf("the runs given were changed: %s", diff)
		}
		got := paint(l.w, l.h, patches) // panics on overlap
		for i, p := range patches {
			if p.ID != i {
				t.Fatalf("patch %d has number %d", i, p.ID)
			}
			if i > 0 && compareRuns(patches[i-1].Runs[0], p.Runs[0]) >= 0 {
				t.Fatalf("patch %d comes too late", i)
			}
			if o.MinCells > 1 && p.Cells() < o.MinCells {
				t.Fatalf("patch %d has %d cells, fewer than %d", i, p.Cells(), o.MinCells)
			}
			if o.MaxCells > 0 && 4*p.Cells() > 5*o.MaxCells {
				t.Fatalf("patch %d has %d cells, maximum %d", i, p.Cells(), o.MaxCells)
			}
			for k := 1; k < len(p.Runs); k++ {
				if a, b := p.Runs[k-1], p.Runs[k]; compareRuns(a, b) >= 0 || a.Y == b.Y && a.X1 >= b.X0 {
					t.Fatalf("patch %d: runs %v and %v are not tidy", i, a, b)
				}
			}
			if _, n := Label(p.Runs); n != 1 {
				t.Fatalf("patch %d is in %d parts%s", i, n, got.picture())
			}
			x0, y0, x1, y1 := p.Bounds()
			if x0 < 0 || y0 < 0 || x1 > l.w || y1 > l.h {
				t.Fatalf("patch %d reaches outside: %d %d %d %d", i, x0, y0, x1, y1)
			}
		}
		for i, v := range got.cell {
			if v > 0 && forbidden.cell[i] > 0 {
				t.Fatalf("keep-out cell %d,%d is in a patch", i%l.w, i/l.w)
			}
			if v > 0 && l.cell[i] == 0 && o.MinHole < 2 {
				t.Fatalf("background cell %d,%d is in a patch", i%l.w, i/l.w)
			}
		}
	})
}

// A ribbon along the diagonal of a map of 1.6 thousand million cells takes
// memory for its cells, not for the box around it.
func TestScoutableRibbonMemory(t *testing.T) {
	const n = 40000
	runs := make([]Run, n)
	for y := range runs {
		runs[y] = Run{Y: int32(y), X0: int32(y), X1: int32(y + 5)}
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	patches := Scoutable(runs, Options{MinCells: 50, MaxCells: 2000, MinHole: 20})
	top := Trace(patches)
	top.Simplify(0)
	runtime.ReadMemStats(&after)
	if used := after.TotalAlloc - before.TotalAlloc; used > 200<<20 {
		t.Errorf("%d MB allocated in all, for %d cells", used>>20, 5*n)
	}
	cells := 0
	for _, p := range patches {
		cells += p.Cells()
	}
	// Cutting loses nothing; opening takes the first and the last cell.
	if cells != 5*n-2 {
		t.Errorf("%d cells left of %d", cells, 5*n)
	}
	if len(patches) < 100 || len(patches) > 300 {
		t.Errorf("%d patches of at most 2000 cells from %d", len(patches), 5*n)
	}
}

// riverRuns is a field of winding ribbons for benchmarks: about share of the
// cells, in stretches of 400 rows by group, with ragged edges and specks.
func riverRuns(w, h int, seed uint64) []Run {
	rng := rand.New(rand.NewPCG(seed, 4))
	mark := make([]int32, w*h)
	for river := range max(1, w/400) {
		x := float64(rng.IntN(w))
		drift := 0.0
		for y := range h {
			drift = 0.95*drift + rng.NormFloat64()*0.4
			x += drift
			half := 8 + rng.IntN(3)
			for c := int(x) - half; c < int(x)+half; c++ {
				if c >= 0 && c < w && rng.IntN(40) > 0 {
					mark[y*w+c] = int32(river*1000 + y/400 + 1)
				}
			}
		}
	}
	for range w * h / 2000 {
		mark[rng.IntN(w*h)] = 1
	}
	var runs []Run
	for y := range h {
		for x := 0; x < w; x++ {
			v := mark[y*w+x]
			if v == 0 {
				continue
			}
			x0 := x
			for x+1 < w && mark[y*w+x+1] == v {
				x++
			}
			runs = append(runs, Run{Y: int32(y), X0: int32(x0), X1: int32(x + 1), Group: v})
		}
	}
	return runs
}
