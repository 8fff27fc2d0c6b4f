package raster

import (
	"context"
	"fmt"
	"math"
	"sync"

	"github.com/airbusgeo/godal"
)

// Numbers no ground has, in metres or in feet: the deepest sea lies at
// −10,900 m, and the highest mountain at 8,850 m, which is 29,030 ft (from
// memory). A file that holds such numbers marks cells without a height by
// them and forgot to say so: −9999, −32768, 32767, 65535.
const (
	strayBelow = -9000
	strayAbove = 30000
	hugeBeyond = 1e30 // marks such as the largest float32

	// Dry ground lies between these, metres: the shore of the Dead Sea at −440,
	// the highest mountain at 8,850 (from memory).
	dryLow, dryHigh = -450, 9000
)

// Strays collects, while ReadSurface runs, the numbers that can be no height
// and are not declared as nodata. A landing that mixes neighbouring cells would
// make believable heights of them, so they are looked for in the file's own
// cells. It may be used by several goroutines.
type Strays struct {
	mu    sync.Mutex
	Path  string  // the file that holds them; "" for none
	Value float64 // the lowest of them, as stored; or the highest when none is low
	Cells int64
	// Low and High are the heights beyond −450 … 9,000 m that landed, metres; 0
	// for none. They may be a sea's floor, or heights in another unit.
	Low, High float64

	Zeros, Seen int64 // cells of exactly 0, and all that were looked at

	Huge int64 // cells with an infinite number, or one beyond ±1e30, which are taken for none
}

// found adds up what one block of cells holds.
func (s *Strays) found(path string, b strayCells) {
	if s == nil || b == (strayCells{}) {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.Huge += b.huge
	s.Zeros, s.Seen = s.Zeros+b.zeros, s.Seen+b.seen
	s.Low, s.High = min(s.Low, b.deep), max(s.High, b.tall)
	if b.cells == 0 {
		return
	}
	value := b.high
	if b.low <= b.high && b.low < 0 {
		value = b.low
	}
	switch {
	case s.Path == "":
		s.Path, s.Value = path, value
	case s.Path != path: // the first file in order is told
		return
	case value < 0 && (s.Value >= 0 || value < s.Value), value >= 0 && s.Value >= 0 && value > s.Value:
		s.Value = value
	}
	s.Cells += b.cells
}

// strayCells counts the strays of a block of cells; low and high are stored
// numbers, deep and tall metres.
type strayCells struct {
	cells, huge int64
	zeros, seen int64
	low, high   float64
	deep, tall  float64
}

// take looks at one number: stored, and x, what it stands for in the layer's
// unit, which is so many metres.
func (b *strayCells) take(stored, x, unit float32) {
	switch {
	case !(math.Abs(float64(x)) < hugeBeyond):
		b.huge++
	case x <= strayBelow || x >= strayAbove:
		v := float64(stored)
		if b.cells++; b.cells == 1 {
			b.low, b.high = v, v
		}
		b.low, b.high = min(b.low, v), max(b.high, v)
	case x*unit < dryLow || x*unit > dryHigh:
		b.deep, b.tall = min(b.deep, float64(x*unit)), max(b.tall, float64(x*unit))
	}
}

// look counts the strays in a file's own cells inside the frame's bounds.
func (s *Strays) look(ctx context.Context, in Info, f Frame, factor float64) error {
	w, south, e, n := f.Bounds()
	x0, y0, x1, y1, err := in.window([4]float64{w, south, e, n}, f.WKT)
	if err != nil || x0 >= x1 || y0 >= y1 {
		return err
	}
	ds, err := open(in.Path, &messages{})
	if err != nil {
		return err
	}
	defer ds.Close(godal.ErrLogger(strict))
	cols := x1 - x0
	rows := max(1, min(landBand, y1-y0, 4<<20/cols))
	buf := make([]float32, cols*rows)
	nd := float32(math.NaN())
	if in.NoData != nil {
		nd = float32(*in.NoData)
	}
	low, high := float32(dryLow/factor), float32(dryHigh/factor)
	var found strayCells
	for y := y0; y < y1; y += rows {
		if err := ctx.Err(); err != nil {
			return err
		}
		k := min(rows, y1-y)
		if err := readCells(ds, x0, y, cols, k, buf, cols); err != nil {
			return fmt.Errorf("read %q, rows %d to %d: %w", in.Path, y, y+k-1, err)
		}
		found.seen += int64(cols * k)
		for _, v := range buf[:cols*k] {
			if v == 0 && nd != 0 {
				found.zeros++
			}
			x := v*float32(in.Scale) + float32(in.Offset)
			if !(x > low && x < high) && x == x && v != nd {
				found.take(v, x, float32(factor))
			}
		}
	}
	s.found(in.Path, found)
	return nil
}

// window is the part of a raster's cells that may lie inside bounds (west,
// south, east, north in boundsWKT): first column and row, and those behind the
// last; all of a raster that is not north-up.
func (in Info) window(bounds [4]float64, boundsWKT string) (x0, y0, x1, y1 int, err error) {
	x1, y1 = in.W, in.H
	if !in.NorthUp() {
		return x0, y0, x1, y1, nil
	}
	b, err := TransformBounds(bounds, boundsWKT, in.CRS.WKT)
	if err != nil {
		return 0, 0, 0, 0, fmt.Errorf("%q: %w", in.Path, err)
	}
	if !in.CRS.Projected && b[2]-b[0] > 180 { // across the antimeridian
		b[0], b[2] = math.Inf(-1), math.Inf(1)
	}
	within := func(v float64, most int) int { return int(min(max(v, 0), float64(most))) }
	x0 = within(math.Floor((b[0]-in.Geo[0])/in.Geo[1]), in.W)
	x1 = within(math.Ceil((b[2]-in.Geo[0])/in.Geo[1]), in.W)
	y0 = within(math.Floor((b[3]-in.Geo[3])/in.Geo[5]), in.H)
	y1 = within(math.Ceil((b[1]-in.Geo[3])/in.Geo[5]), in.H)
	return x0, y0, x1, y1, nil
}
