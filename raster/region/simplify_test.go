package region

import (
	"cmp"
	"encoding/json"
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
		var segs [][2]point
		for i := range top.arcs {
			line := top.line(int32(i))
			for k := range len(line) - 1 {
				segs = append(segs, [2]point{line[k], line[k+1]})
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
	p := func(x, y int32) point { return point{x, y} }
	for _, c := range []struct {
		name       string
		a, b, c, d point
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
	for seed := range 60 {
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

// clash tells whether two segments share more than one common end.
func clash(a, b, c, d point) bool {
	if a == d || b == c {
		c, d = d, c
	}
	switch {
	case a == c && b == d:
		return true
	case a == c:
		return doublesBack(a, b, d)
	case b == d:
		return doublesBack(b, a, c)
	}
	if max(a.X, b.X) < min(c.X, d.X) || max(c.X, d.X) < min(a.X, b.X) ||
		max(a.Y, b.Y) < min(c.Y, d.Y) || max(c.Y, d.Y) < min(a.Y, b.Y) {
		return false
	}
	side := func(a, b, c point) int {
		return cmp.Compare(int64(b.X-a.X)*int64(c.Y-a.Y), int64(b.Y-a.Y)*int64(c.X-a.X))
	}
	return side(a, b, c)*side(a, b, d) <= 0 && side(c, d, a)*side(c, d, b) <= 0
}

// doublesBack tells whether the segments from p to a and to b leave p the same way.
func doublesBack(p, a, b point) bool {
	ax, ay, bx, by := a.X-p.X, a.Y-p.Y, b.X-p.X, b.Y-p.Y
	return ax*by == ay*bx && ax*bx+ay*by > 0
}

// A straight edge of any slope, put on the lattice and traced, becomes all but
// straight again: eight lines at most (its ends are fixed at the raster's edge,
// and it bends at corners and middles of the traced border only) where tracing
// leaves up to 120.
func TestSimplifyStraightEdge(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := 60, 60
		slope := rapid.Float64Range(-1.5, 1.5).Draw(t, "slope")
		start := rapid.Float64Range(20, 40).Draw(t, "start")
		l := labels{w: w, h: h, cell: make([]int, w*h)}
		for i := range l.cell {
			l.cell[i] = 1
			if float64(i/w)+0.5 > start+slope*(float64(i%w)+0.5-30) {
				l.cell[i] = 2
			}
		}
		top := Trace(l.patches())
		top.Simplify(0)
		shared := 0
		for i, a := range top.arcs {
			if a.left < 0 || a.right < 0 {
				continue
			}
			shared++
			if n := len(top.line(int32(i))); n > 9 {
				t.Fatalf("%d points on the common border, traced with %d: %v", n, len(a.points), top.line(int32(i)))
			}
		}
		if shared != 1 {
			t.Fatalf("%d common borders, want 1", shared)
		}
	})
}

// A rectangle keeps its four corners and its area; a disc keeps its area within
// one part in a hundred on a fraction of the corners.
func TestSimplifyShapes(t *testing.T) {
	box := Trace([]Patch{{Runs: []Run{{Y: 3, X0: 2, X1: 9}, {Y: 4, X0: 2, X1: 9}, {Y: 5, X0: 2, X1: 9}}}})
	box.Simplify(0)
	if r := box.Polygons(0)[0][0]; len(r) != 5 || signedArea(r) != -21 {
		t.Errorf("a box of 7 × 3 cells became %v", r)
	}
	var disc Patch
	for y := -40; y < 40; y++ {
		half := 0
		for (half+1)*(half+1)+y*y+y <= 40*40 {
			half++
		}
		if half > 0 {
			disc.Runs = append(disc.Runs, Run{Y: int32(y), X0: int32(-half), X1: int32(half)})
		}
	}
	top := Trace([]Patch{disc})
	_, before := top.Size()
	top.Simplify(0)
	r := top.Polygons(0)[0][0]
	if share := -signedArea(r) / float64(disc.Cells()); share < 0.99 || share > 1.01 {
		t.Errorf("the area of a disc changed by a factor %v", share)
	}
	if 4*len(r) > before {
		t.Errorf("a disc of 80 cells across has %d points, %d before", len(r), before)
	}
}
