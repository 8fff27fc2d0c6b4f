package raster

import (
	"testing"

	"pgregory.net/rapid"
)

func TestFramePositions(t *testing.T) {
	f := Frame{W: 4, H: 3, X0: 1000, Y0: 2000, Cell: 10}
	if e, n := f.Center(0, 0); e != 1005 || n != 1995 {
		t.Errorf("centre of the first cell: %v %v, want 1005 1995", e, n)
	}
	if e, n := f.Corner(4, 3); e != 1040 || n != 1970 {
		t.Errorf("south-east corner: %v %v, want 1040 1970", e, n)
	}
	if w, s, e, n := f.Bounds(); w != 1000 || s != 1970 || e != 1040 || n != 2000 {
		t.Errorf("bounds %v %v %v %v", w, s, e, n)
	}
	if f.Cells() != 12 || f.CellHa() != 0.01 || f.CellKm2() != 1e-4 {
		t.Errorf("%d cells of %v ha, %v km²", f.Cells(), f.CellHa(), f.CellKm2())
	}
	if _, _, ok := f.At(999.9, 1990); ok {
		t.Error("a point west of the frame is told inside")
	}
	if _, _, ok := f.At(1005, 1970-0.1); ok {
		t.Error("a point south of the frame is told inside")
	}
}

func TestFrameAtIsTheInverseOfCenterAlsoInACut(t *testing.T) {
	f := Frame{W: 40, H: 30, X0: 500000, Y0: 4.5e6, Cell: 2.5}
	rapid.Check(t, func(rt *rapid.T) {
		x, y := rapid.IntRange(0, 39).Draw(rt, "x"), rapid.IntRange(0, 29).Draw(rt, "y")
		cx, cy := rapid.IntRange(0, x).Draw(rt, "cut x"), rapid.IntRange(0, y).Draw(rt, "cut y")
		e, n := f.Center(x, y)
		if gx, gy, ok := f.At(e, n); !ok || gx != x || gy != y {
			rt.Fatalf("centre of %d,%d lies in %d,%d (%v)", x, y, gx, gy, ok)
		}
		g := f.Cut(cx, cy, 40-cx, 30-cy)
		if gx, gy, ok := g.At(e, n); !ok || gx != x-cx || gy != y-cy {
			rt.Fatalf("in the cut, centre of %d,%d lies in %d,%d (%v)", x, y, gx, gy, ok)
		}
	})
}
