package region

import (
	"encoding/json"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"
)

func TestSimplifyProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(20, 4).Draw(t, "raster")
		patches := l.patches()
		top := Trace(patches)
		_, before := top.Size()
		top.Simplify(rapid.SampledFrom([]float64{0, 0.1, 0.3, 0.5, 9}).Draw(t, "tol"))
		if _, after := top.Size(); after > before {
			t.Fatalf("%d points, %d before", after, before)
		}
		for i := range patches {
			checkRings(t, top.Polygons(i), l.picture())
		}
		// No two segments of all arcs meet but at a common end, by trying all pairs.
		var segs [][2]Point
		for i := range top.arcs {
			line := top.line(int32(i))
			for k := range len(line) - 1 {
				segs = append(segs, [2]Point{line[k], line[k+1]})
			}
		}
		for i, s := range segs {
			for _, u := range segs[i+1:] {
				if clash(s[0], s[1], u[0], u[1]) {
					t.Fatalf("segments %v and %v meet%s", s, u, l.picture())
				}
			}
		}
		checkCentres(t, l, top, len(patches))
	})
}

func TestClash(t *testing.T) {
	p := func(x, y int32) Point { return Point{x, y} }
	for _, c := range []struct {
		name       string
		a, b, c, d Point
		want       bool
	}{
		{"proper crossing", p(0, 0), p(2, 2), p(0, 2), p(2, 0), true},
		{"apart", p(0, 0), p(2, 2), p(3, 0), p(5, 1), false},
		{"common end", p(0, 0), p(2, 2), p(2, 2), p(3, 0), false},
		{"end on the other's inside", p(0, 0), p(4, 4), p(2, 2), p(3, 0), true},
		{"the same segment turned round", p(0, 0), p(4, 1), p(4, 1), p(0, 0), true},
		{"doubles back", p(0, 0), p(4, 2), p(4, 2), p(2, 1), true},
		{"goes straight on", p(0, 0), p(4, 2), p(4, 2), p(6, 3), false},
		{"in one line, overlapping", p(0, 0), p(4, 2), p(2, 1), p(6, 3), true},
		{"in one line, apart", p(0, 0), p(2, 1), p(4, 2), p(6, 3), false},
	} {
		if got := clash(c.a, c.b, c.c, c.d); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if got := clash(c.d, c.c, c.b, c.a); got != c.want {
			t.Errorf("%s, turned round: %v, want %v", c.name, got, c.want)
		}
	}
}

// crossings finds what trying all pairs finds, on lines that do cross.
func TestCrossingsAgainstAllPairs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		top := &Topology{}
		for range rapid.IntRange(2, 12).Draw(t, "arcs") {
			var line []Point
			for range 2 + rng.IntN(3) {
				line = append(line, Point{int32(rng.IntN(120) - 40), int32(rng.IntN(120) - 40)})
			}
			// One point more as traced: every arc counts as changed.
			top.arcs = append(top.arcs, arc{points: append(line[:len(line):len(line)], Point{})})
			top.simple = append(top.simple, line)
		}
		want := make(map[int32]bool)
		type seg struct {
			a, b Point
			arc  int32
		}
		var segs []seg
		for i, line := range top.simple {
			for k := range len(line) - 1 {
				segs = append(segs, seg{line[k], line[k+1], int32(i)})
			}
		}
		for i, s := range segs {
			for _, u := range segs[i+1:] {
				if clash(s.a, s.b, u.a, u.b) {
					want[s.arc], want[u.arc] = true, true
				}
			}
		}
		got := top.crossings()
		for i, a := range got {
			if !want[a] || i > 0 && got[i-1] >= a {
				t.Fatalf("arcs %v found, want %v", got, want)
			}
		}
		if len(got) != len(want) {
			t.Fatalf("arcs %v found, want %v", got, want)
		}
	})
}

// Reference library: shapely (GEOS) on random rasters, traced and simplified:
// every outline valid, none over another, and traced areas equal to the cells.
func TestOutlinesAgainstShapely(t *testing.T) {
	py := python(t, "shapely")
	type item struct {
		Picture string             `json:"picture"`
		Exact   bool               `json:"exact"`
		Cells   []int              `json:"cells"`
		Shapes  []orb.MultiPolygon `json:"shapes"`
	}
	var items []item
	for seed := range 120 {
		l := anyLabels(30, 5).Example(seed)
		patches := l.patches()
		if len(patches) == 0 {
			continue
		}
		top := Trace(patches)
		for _, exact := range []bool{true, false} {
			it := item{Picture: l.picture(), Exact: exact}
			if !exact {
				top.Simplify(0.5)
			}
			for i, p := range patches {
				it.Cells = append(it.Cells, p.Cells())
				it.Shapes = append(it.Shapes, top.Polygons(i))
			}
			items = append(items, it)
		}
	}
	in, err := json.Marshal(items)
	if err != nil {
		t.Fatal(err)
	}
	script := `import sys, json
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union
from shapely.validation import explain_validity
n = 0
for it in json.load(sys.stdin):
    shapes = [MultiPolygon([Polygon(p[0], p[1:]) for p in s]) for s in it["shapes"]]
    for i, s in enumerate(shapes):
        n += 1
        if not s.is_valid:
            print("patch", i, "exact", it["exact"], explain_validity(s), it["picture"])
        if it["exact"] and s.area != it["cells"][i]:
            print("patch", i, "area", s.area, "cells", it["cells"][i], it["picture"])
        for j in range(i):
            if shapes[j].is_valid and s.is_valid and s.intersection(shapes[j]).area > 1e-9:
                print("patches", j, i, "overlap, exact", it["exact"], it["picture"])
print("checked", n)`
	cmd := exec.Command(py, "-c", script)
	cmd.Stdin = strings.NewReader(string(in))
	b, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("shapely: %v\n%s", err, b)
	}
	if out := strings.TrimSpace(string(b)); !strings.HasPrefix(out, "checked ") || out == "checked 0" {
		t.Errorf("shapely found:\n%.3000s", out)
	}
}
