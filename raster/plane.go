package raster

import (
	"context"
	"fmt"
	"os"
	"unsafe"
)

// Elem is what a cell may hold.
type Elem interface {
	~uint8 | ~int8 | ~uint16 | ~int16 | ~uint32 | ~int32 | ~uint64 | ~float32 | ~float64
}

// Plane is W×H cells of one quantity, row-major, row 0 at the north. It lives
// in memory, or in a scratch file when the run's memory budget says so; the
// kernels see only windows of it, so they are the same for both.
// Reads of any windows and writes of disjoint windows may run at once.
type Plane[T Elem] struct {
	w, h int
	mem  []T
	f    *os.File
	lent *Scratch // whose room the memory, or whose file the file is
}

// NewPlane makes a plane of zeros: in memory when s is nil or has room left,
// else in a file of s.
func NewPlane[T Elem](w, h int, s *Scratch) (*Plane[T], error) {
	if w < 1 || h < 1 {
		return nil, fmt.Errorf("raster: plane of %d × %d cells", w, h)
	}
	p := &Plane[T]{w: w, h: h}
	if s == nil {
		p.mem = make([]T, w*h)
		return p, nil
	}
	var zero T
	bytes := int64(w) * int64(h) * int64(unsafe.Sizeof(zero))
	if s.take(bytes) {
		p.mem, p.lent = make([]T, w*h), s
		return p, nil
	}
	f, err := s.file(bytes)
	if err != nil {
		return nil, err
	}
	p.f, p.lent = f, s
	return p, nil
}

// PlaneOf wraps w×h cells already in memory; the slice is shared.
func PlaneOf[T Elem](w, h int, cells []T) *Plane[T] {
	if len(cells) != w*h {
		panic(fmt.Sprintf("raster: %d cells given for a plane of %d × %d", len(cells), w, h))
	}
	return &Plane[T]{w: w, h: h, mem: cells}
}

// Size gives columns and rows.
func (p *Plane[T]) Size() (w, h int) { return p.w, p.h }

// Mem is the plane's own cells when it lives in memory, else nil.
func (p *Plane[T]) Mem() []T { return p.mem }

// Close frees the memory or the scratch file. A nil plane may be closed.
func (p *Plane[T]) Close() {
	if p == nil {
		return
	}
	switch {
	case p.f != nil:
		p.lent.drop(p.f)
	case p.lent != nil:
		var zero T
		p.lent.room.Add(int64(len(p.mem)) * int64(unsafe.Sizeof(zero)))
	}
	p.mem, p.f, p.lent = nil, nil, nil
}

// Read copies the window with first cell (x, y) and size w×h, which must lie
// inside the plane, into dst (row-major, at least w*h cells).
func (p *Plane[T]) Read(x, y, w, h int, dst []T) error {
	return p.ReadInto(x, y, w, h, dst, w)
}

// ReadInto is Read with dst's rows stride cells apart.
func (p *Plane[T]) ReadInto(x, y, w, h int, dst []T, stride int) error {
	p.check(x, y, w, h)
	if p.mem != nil {
		for r := range h {
			copy(dst[r*stride:r*stride+w], p.mem[(y+r)*p.w+x:(y+r)*p.w+x+w])
		}
		return nil
	}
	if x == 0 && w == p.w && stride == w {
		return p.at(dst[:w*h], y*p.w, false)
	}
	for r := range h {
		if err := p.at(dst[r*stride:r*stride+w], (y+r)*p.w+x, false); err != nil {
			return err
		}
	}
	return nil
}

// Row gives n cells of row y from column x on: the plane's own when it lives in
// memory, which are then only to be read, else read into buf.
func (p *Plane[T]) Row(x, y, n int, buf []T) ([]T, error) {
	if p.mem != nil {
		p.check(x, y, n, 1)
		return p.mem[y*p.w+x : y*p.w+x+n], nil
	}
	return buf[:n], p.Read(x, y, n, 1, buf[:n])
}

// Write copies src (row-major w×h) into the window with first cell (x, y).
func (p *Plane[T]) Write(x, y, w, h int, src []T) error {
	return p.WriteFrom(x, y, w, h, src, w)
}

// WriteFrom is Write with src's rows stride cells apart.
func (p *Plane[T]) WriteFrom(x, y, w, h int, src []T, stride int) error {
	p.check(x, y, w, h)
	if p.mem != nil {
		for r := range h {
			copy(p.mem[(y+r)*p.w+x:(y+r)*p.w+x+w], src[r*stride:r*stride+w])
		}
		return nil
	}
	if x == 0 && w == p.w && stride == w {
		return p.at(src[:w*h], y*p.w, true)
	}
	for r := range h {
		if err := p.at(src[r*stride:r*stride+w], (y+r)*p.w+x, true); err != nil {
			return err
		}
	}
	return nil
}

// ReadPadded reads a window that may stick out of the plane; cells outside get pad.
func (p *Plane[T]) ReadPadded(x, y, w, h int, dst []T, pad T) error {
	x0, y0, x1, y1 := max(x, 0), max(y, 0), min(x+w, p.w), min(y+h, p.h)
	if x0 > x || y0 > y || x1 < x+w || y1 < y+h {
		for i := range dst[:w*h] {
			dst[i] = pad
		}
	}
	if x0 >= x1 || y0 >= y1 {
		return nil
	}
	return p.ReadInto(x0, y0, x1-x0, y1-y0, dst[(y0-y)*w+x0-x:], w)
}

// Fill sets every cell to v.
func (p *Plane[T]) Fill(ctx context.Context, v T) error {
	if p.mem != nil {
		for i := range p.mem {
			p.mem[i] = v
		}
		return nil
	}
	const band = 64
	rows := make([]T, p.w*min(p.h, band))
	for i := range rows {
		rows[i] = v
	}
	for y := 0; y < p.h; y += band {
		if err := ctx.Err(); err != nil {
			return err
		}
		n := min(band, p.h-y)
		if err := p.Write(0, y, p.w, n, rows[:n*p.w]); err != nil {
			return err
		}
	}
	return nil
}

func (p *Plane[T]) check(x, y, w, h int) {
	if x < 0 || y < 0 || w < 0 || h < 0 || x+w > p.w || y+h > p.h {
		panic(fmt.Sprintf("raster: window %d,%d+%dx%d outside a plane of %d × %d", x, y, w, h, p.w, p.h))
	}
}

// at moves cells between memory and the scratch file, in the machine's own
// byte order: scratch files never outlive the program.
func (p *Plane[T]) at(cells []T, first int, write bool) error {
	if len(cells) == 0 {
		return nil
	}
	var zero T
	size := int64(unsafe.Sizeof(zero))
	b := unsafe.Slice((*byte)(unsafe.Pointer(&cells[0])), int64(len(cells))*size)
	var err error
	if write {
		_, err = p.f.WriteAt(b, int64(first)*size)
	} else {
		_, err = p.f.ReadAt(b, int64(first)*size)
	}
	if err != nil {
		return fmt.Errorf("scratch file in %q: %w", p.lent.dir, bare(err))
	}
	return nil
}
