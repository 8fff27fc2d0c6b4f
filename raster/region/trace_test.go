package region

import (
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"
)

// signedArea is the shoelace area with y taken as it is.
func signedArea(r orb.Ring) float64 {
	s := 0.0
	for i := range len(r) - 1 {
		s += r[i][0]*r[i+1][1] - r[i+1][0]*r[i][1]
	}
	return s / 2
}

// checkRings holds every ring of patch i against the rules: closed, four
// points or more, the right way round, no point twice.
func checkRings(t rapid.TB, mp orb.MultiPolygon, note string) {
	t.Helper()
	for _, poly := range mp {
		for k, r := range poly {
			if len(r) < 4 || r[0] != r[len(r)-1] {
				t.Fatalf("a ring of %d points, closed %v: %v%s", len(r), r[0] == r[len(r)-1], r, note)
			}
			if a := signedArea(r); k == 0 && a >= 0 || k > 0 && a <= 0 {
				t.Fatalf("ring %d has signed area %v in lattice coordinates%s", k, a, note)
			}
			seen := make(map[orb.Point]bool)
			for _, p := range r[1:] {
				if seen[p] {
					t.Fatalf("a ring meets %v twice: %v%s", p, r, note)
				}
				seen[p] = true
			}
		}
	}
}

// checkCentres holds that each cell centre lies in its own patch and in no other.
func checkCentres(t rapid.TB, l labels, top *Topology, n int) {
	t.Helper()
	for i := range n {
		mp := top.Polygons(i)
		for c, v := range l.cell {
			p := orb.Point{float64(c%l.w) + 0.5, float64(c/l.w) + 0.5}
			if got, want := planar.MultiPolygonContains(mp, p), v == i+1; got != want {
				t.Fatalf("centre of cell %d,%d inside patch %d: %v, want %v\n%v%s", c%l.w, c/l.w, i, got, want, mp, l.picture())
			}
		}
	}
}

func TestTraceHandWorked(t *testing.T) {
	for _, c := range []struct {
		name, picture string
		want          orb.MultiPolygon
	}{
		{"one cell", "#", orb.MultiPolygon{{{{0, 0}, {0, 1}, {1, 1}, {1, 0}, {0, 0}}}}},
		{"two cells touching at a corner are two polygons", "#. .#", orb.MultiPolygon{
			{{{0, 0}, {0, 1}, {1, 1}, {1, 0}, {0, 0}}},
			{{{1, 1}, {1, 2}, {2, 2}, {2, 1}, {1, 1}}},
		}},
		{"a hole that touches the outside at a corner is a hole", "### #.# ##.", orb.MultiPolygon{
			{{{0, 0}, {0, 3}, {2, 3}, {2, 2}, {3, 2}, {3, 0}, {0, 0}}, {{1, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 1}}},
		}},
		{"two holes touching at a corner are two holes", "#### #.## ##.# ####", orb.MultiPolygon{{
			{{0, 0}, {0, 4}, {4, 4}, {4, 0}, {0, 0}},
			{{2, 2}, {3, 2}, {3, 3}, {2, 3}, {2, 2}},
			{{1, 1}, {2, 1}, {2, 2}, {1, 2}, {1, 1}},
		}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Trace(drawn(c.picture).patches()).Polygons(0)
			checkRings(t, got, c.picture)
			if len(got) != len(c.want) {
				t.Fatalf("%d polygons, want %d: %v", len(got), len(c.want), got)
			}
			for i := range got {
				if len(got[i]) != len(c.want[i]) {
					t.Fatalf("polygon %d has %d rings, want %d: %v", i, len(got[i]), len(c.want[i]), got[i])
				}
				for k := range got[i] {
					if !sameRing(got[i][k], c.want[i][k]) {
						t.Errorf("polygon %d ring %d: %v, want %v", i, k, got[i][k], c.want[i][k])
					}
				}
			}
		})
	}
}

// sameRing compares two closed rings wherever they start.
func sameRing(a, b orb.Ring) bool {
	n := len(a) - 1
	if n != len(b)-1 {
		return false
	}
	for s := range n {
		same := true
		for i := range n {
			same = same && a[(s+i)%n] == b[i]
		}
		if same {
			return true
		}
	}
	return false
}

func TestTraceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(16, 4).Draw(t, "raster")
		patches := l.patches()
		top := Trace(patches)
		for i, p := range patches {
			mp := top.Polygons(i)
			checkRings(t, mp, l.picture())
			area := 0.0
			for _, poly := range mp {
				for _, r := range poly {
					area -= signedArea(r)
				}
			}
			if area != float64(p.Cells()) {
				t.Fatalf("patch %d: area %v, cells %d%s", i, area, p.Cells(), l.picture())
			}
		}
		checkCentres(t, l, top, len(patches))
	})
}

// Every border is stored once: an arc's two faces differ, and each arc is used
// once from each side that is a patch.
func TestTraceSharesArcs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anyLabels(16, 4).Draw(t, "raster")
		top := Trace(l.patches())
		used := make(map[half]int)
		for f := range top.faces {
			for _, r := range top.faces[f].rings {
				for _, h := range top.halves[r[0]:r[1]] {
					used[h]++
					if int(top.left(h)) != f {
						t.Fatalf("arc %d in a ring of face %d has face %d on its left%s", h.arc(), f, top.left(h), l.picture())
					}
				}
			}
		}
		for i, a := range top.arcs {
			if a.left == a.right {
				t.Fatalf("arc %d has face %d on both sides%s", i, a.left, l.picture())
			}
			for side, f := range map[half]int32{half(i): a.left, ^half(i): a.right} {
				if want := min(f+1, 1); used[side] != int(want) {
					t.Fatalf("side %d of face %d used %d times%s", side, f, used[side], l.picture())
				}
			}
		}
	})
}

func TestTraceRefusesOverlap(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("overlapping patches: no panic")
		}
	}()
	Trace([]Patch{{Runs: []Run{{Y: 1, X0: 0, X1: 3}}}, {Runs: []Run{{Y: 1, X0: 2, X1: 4}}}})
}

func TestTraceNothing(t *testing.T) {
	top := Trace([]Patch{{}})
	top.Simplify(0)
	if mp := top.Polygons(0); len(mp) != 0 {
		t.Errorf("a patch without cells: %v", mp)
	}
}
