package raster

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// planes gives the same cells in memory and in a scratch file.
func planes(t *testing.T, w, h int, cells []int32) map[string]*Plane[int32] {
	t.Helper()
	s, err := NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	file, err := NewPlane[int32](w, h, s)
	if err != nil {
		t.Fatal(err)
	}
	if err := file.Write(0, 0, w, h, cells); err != nil {
		t.Fatal(err)
	}
	return map[string]*Plane[int32]{"memory": PlaneOf(w, h, slices.Clone(cells)), "scratch": file}
}

func TestPaddedWindowsAreTheSameInMemoryAndScratch(t *testing.T) {
	const w, h, pad = 7, 5, int32(-1)
	cells := counted[int32](w*h, 100)
	both := planes(t, w, h, cells)
	rapid.Check(t, func(rt *rapid.T) {
		x, y := rapid.IntRange(-4, w+2).Draw(rt, "x"), rapid.IntRange(-4, h+2).Draw(rt, "y")
		ww, wh := rapid.IntRange(1, 12).Draw(rt, "w"), rapid.IntRange(1, 12).Draw(rt, "h")
		want := make([]int32, ww*wh)
		for i := range want {
			want[i] = pad
			if cx, cy := x+i%ww, y+i/ww; cx >= 0 && cy >= 0 && cx < w && cy < h {
				want[i] = cells[cy*w+cx]
			}
		}
		for where, p := range both {
			got := make([]int32, ww*wh)
			if err := p.ReadPadded(x, y, ww, wh, got, pad); err != nil {
				rt.Fatal(err)
			}
			if !slices.Equal(got, want) {
				rt.Fatalf("%s: got %v, want %v", where, got, want)
			}
		}
	})
}

func TestStridedWritesLandInTheirWindow(t *testing.T) {
	const w, h = 6, 4
	for where, p := range planes(t, w, h, make([]int32, w*h)) {
		src := counted[int32](5*2, 1) // two rows of five, three of them used
		if err := p.WriteFrom(2, 1, 3, 2, src, 5); err != nil {
			t.Fatal(err)
		}
		if err := p.Write(0, 3, w, 1, slices.Repeat([]int32{9}, w)); err != nil {
			t.Fatal(err)
		}
		got := make([]int32, w*h)
		if err := p.Read(0, 0, w, h, got); err != nil {
			t.Fatal(err)
		}
		want := []int32{
			0, 0, 0, 0, 0, 0,
			0, 0, 1, 2, 3, 0,
			0, 0, 6, 7, 8, 0,
			9, 9, 9, 9, 9, 9,
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: got %v, want %v", where, got, want)
		}
		back := slices.Repeat([]int32{-5}, 8)
		if err := p.ReadInto(3, 1, 2, 2, back, 4); err != nil {
			t.Fatal(err)
		}
		if want := []int32{2, 3, -5, -5, 7, 8, -5, -5}; !slices.Equal(back, want) {
			t.Errorf("%s: got %v, want %v", where, back, want)
		}
	}
}

func TestPlaneStartsAtZeroAndTellsItsSize(t *testing.T) {
	s, err := NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, scratch := range []*Scratch{nil, s} {
		p, err := NewPlane[float64](3, 2, scratch)
		if err != nil {
			t.Fatal(err)
		}
		if w, h := p.Size(); w != 3 || h != 2 || (p.Mem() == nil) != (scratch != nil) {
			t.Errorf("size %d × %d, in memory %v", w, h, p.Mem() != nil)
		}
		got := slices.Repeat([]float64{1}, 6)
		if err := p.Read(0, 0, 3, 2, got); err != nil {
			t.Fatal(err)
		}
		if !slices.Equal(got, make([]float64, 6)) {
			t.Errorf("got %v, want zeros", got)
		}
	}
	if _, err := NewPlane[uint8](0, 4, nil); err == nil {
		t.Error("a plane without cells was made")
	}
}

func TestScratchLeavesNothingBehind(t *testing.T) {
	dir := t.TempDir()
	s, err := NewScratch(dir, 0)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPlane[uint8](10, 10, s)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := NewPlane[uint8](10, 10, s); err != nil {
		t.Fatal(err)
	}
	onlyFiles(t, dir) // not even while it is used, so that a killed run leaves nothing
	p.Close()
	if n := s.Files(); n != 1 {
		t.Errorf("%d files after one of two planes was closed", n)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if n := s.Files(); n != 0 {
		t.Errorf("%d files after the scratch was closed", n)
	}
	var none *Scratch
	var noPlane *Plane[uint8]
	noPlane.Close()
	if err := none.Close(); err != nil {
		t.Error(err)
	}
}

func TestScratchErrorsNameTheFile(t *testing.T) {
	if _, err := NewScratch(t.TempDir()+"/absent", 0); err == nil || !strings.Contains(err.Error(), "absent") {
		t.Errorf("got %v, want an error that names the folder", err)
	}
	s, err := NewScratch(t.TempDir(), 0)
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPlane[uint8](4, 4, s)
	if err != nil {
		t.Fatal(err)
	}
	p.f.Close()
	if err := p.Read(0, 0, 4, 4, make([]uint8, 16)); err == nil || !strings.Contains(err.Error(), s.Dir()) {
		t.Errorf("got %v, want an error that names the scratch folder", err)
	}
	s.Close()
	if _, err := NewPlane[uint8](4, 4, s); err == nil {
		t.Error("a plane was made in a scratch that is closed")
	}
}

func TestWindowOutsideThePlanePanics(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a window outside the plane was read")
		}
	}()
	_ = PlaneOf(3, 3, make([]uint8, 9)).Read(2, 2, 2, 2, make([]uint8, 4))
}

// Room in memory is taken while it lasts, given back on Close, and never by cold planes.
func TestScratchRoom(t *testing.T) {
	s, err := NewScratch(t.TempDir(), 100)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	plane := func(s *Scratch, w int) *Plane[uint16] {
		t.Helper()
		p, err := NewPlane[uint16](w, 1, s)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	a := plane(s, 30) // 60 bytes
	b := plane(s, 30)
	c := plane(s.Cold(), 5)
	d := plane(s, 20) // the last 40
	for i, p := range []struct {
		p      *Plane[uint16]
		memory bool
	}{{a, true}, {b, false}, {c, false}, {d, true}} {
		if got := p.p.Mem() != nil; got != p.memory {
			t.Errorf("plane %d: in memory %v, want %v", i, got, p.memory)
		}
	}
	a.Close()
	a.Close() // twice gives nothing back twice
	if e, f := plane(s, 30), plane(s, 1); e.Mem() == nil || f.Mem() != nil {
		t.Error("the room of a closed plane was not given back once")
	}
	var none *Scratch
	if none.Cold() != nil {
		t.Error("no scratch has a cold side")
	}
}
