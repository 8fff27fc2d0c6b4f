package region

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"math/bits"

	"rillwood/raster"
)

// bandRows is the height of a band: one bit per row fits one machine word.
const bandRows = 64

// farRow stands for "no seed in this column": farther than any plane is high.
const farRow = 1 << 29

// Distance writes to out, for every cell, the exact Euclidean distance in
// metres from its centre to the centre of the nearest seed: a cell of seed
// whose value is at least from. cell is the side of a cell in metres. Without
// any seed every cell gets +Inf.
//
// The transform is separable (Felzenszwalb & Huttenlocher 2012, Theory of
// Computing 8:415–428; Meijster, Roerdink & Hesselink 2000): distances along
// columns first, then along each row the lower envelope of parabolas, found in
// integers, so that squared distances are exact; only the last square root
// rounds. Seeds are read once, band by band, into one bit a cell; rows are then
// independent of each other, each is written once, and the result does not
// depend on workers or on where the planes live. Beside the planes it holds a
// quarter of a byte a cell.
func Distance(ctx context.Context, seed *raster.Plane[uint8], from uint8, cell float64, out *raster.Plane[float32], workers int) error {
	w, h := seed.Size()
	if ow, oh := out.Size(); ow != w || oh != h {
		return fmt.Errorf("distance: seeds have %d × %d cells, the plane for distances %d × %d; give planes of one size", w, h, ow, oh)
	}
	if !(cell > 0) || math.IsInf(cell, 0) {
		return fmt.Errorf("distance: a cell of %g m; give a positive size", cell)
	}
	b := newBands(w, h)
	if err := b.fill(ctx, seed, from, workers); err != nil {
		return err
	}
	b.link()
	type buffers struct {
		above, below []int32
		cost         []int64
		env          envelope
		rows         []float32
	}
	buf := make([]*buffers, max(workers, 1))
	mem := out.Mem()
	return raster.Parallel(ctx, workers, b.n, func(worker, i int) error {
		if buf[worker] == nil {
			buf[worker] = &buffers{
				above: make([]int32, w), below: make([]int32, w),
				cost: make([]int64, w), env: newEnvelope(w),
			}
			if mem == nil {
				buf[worker].rows = make([]float32, w*min(h, bandRows))
			}
		}
		k := buf[worker]
		y0, y1 := i*bandRows, min((i+1)*bandRows, h)
		rows := k.rows
		if mem != nil {
			rows = mem[y0*w : y1*w]
		}
		b.enter(i, k.above, k.below)
		for y := y0; y < y1; y++ {
			b.costs(i, y, k.above, k.below, k.cost)
			k.env.build(k.cost, 1)
			k.env.distances(rows[(y-y0)*w:(y-y0+1)*w], cell)
		}
		if mem == nil {
			return out.Write(0, y0, w, y1-y0, rows)
		}
		return nil
	})
}

// bands holds the seeds as one bit a cell, 64 rows to a word, and for each
// band and column the nearest seed row above and below the band.
type bands struct {
	w, h, n      int
	mask         []uint64 // n×w: bit r is row 64·band+r
	above, below []int32  // n×w
}

func newBands(w, h int) *bands {
	n := (h + bandRows - 1) / bandRows
	return &bands{w: w, h: h, n: n, mask: make([]uint64, n*w), above: make([]int32, n*w), below: make([]int32, n*w)}
}

func (b *bands) fill(ctx context.Context, seed *raster.Plane[uint8], from uint8, workers int) error {
	buf := make([][]uint8, max(workers, 1))
	mem := seed.Mem()
	return raster.Parallel(ctx, workers, b.n, func(worker, i int) error {
		y0, y1 := i*bandRows, min((i+1)*bandRows, b.h)
		var rows []uint8
		if mem != nil {
			rows = mem[y0*b.w : y1*b.w]
		} else {
			if buf[worker] == nil {
				buf[worker] = make([]uint8, b.w*min(b.h, bandRows))
			}
			rows = buf[worker]
			if err := seed.Read(0, y0, b.w, y1-y0, rows); err != nil {
				return err
			}
		}
		mask := b.mask[i*b.w : (i+1)*b.w]
		for r := range y1 - y0 {
			markSeeds(rows[r*b.w:(r+1)*b.w], from, mask, 1<<r)
		}
		return nil
	})
}

// markSeeds sets bit in mask[x] where row[x] >= from. It looks at eight cells
// at a time, since seeds are mostly sparse.
func markSeeds(row []uint8, from uint8, mask []uint64, bit uint64) {
	const low, high = 0x7f7f7f7f7f7f7f7f, 0x8080808080808080
	mask = mask[:len(row)]
	// The top bit of a byte of the sum tells low7(v)+add >= 128, without carry
	// into the next byte.
	add := uint64(128-int(from&0x7f)) * 0x0101010101010101
	if from&0x7f == 0 {
		add = low // the low bits do not matter: v >= 0 always, v >= 128 by the top bit alone
	}
	x := 0
	for ; x+8 <= len(row); x += 8 {
		v := binary.LittleEndian.Uint64(row[x:])
		var hit uint64
		switch {
		case from == 0:
			hit = high
		case from == 128:
			hit = v & high
		case from < 128:
			hit = ((v&low + add) | v) & high
		default:
			hit = (v&low + add) & v & high
		}
		for hit != 0 {
			mask[x+bits.TrailingZeros64(hit)>>3] |= bit
			hit &= hit - 1
		}
	}
	for ; x < len(row); x++ {
		if row[x] >= from {
			mask[x] |= bit
		}
	}
}

// link carries the nearest seed row of each column down and up over the bands.
func (b *bands) link() {
	for x := range b.w {
		b.above[x] = -farRow
		b.below[(b.n-1)*b.w+x] = 2 * farRow
	}
	for i := 1; i < b.n; i++ {
		last := (i - 1) * b.w
		for x, m := range b.mask[last : last+b.w] {
			v := b.above[last+x]
			if m != 0 {
				v = int32((i-1)*bandRows + 63 - bits.LeadingZeros64(m))
			}
			b.above[last+b.w+x] = v
		}
	}
	for i := b.n - 2; i >= 0; i-- {
		next := (i + 1) * b.w
		for x, m := range b.mask[next : next+b.w] {
			v := b.below[next+x]
			if m != 0 {
				v = int32((i+1)*bandRows + bits.TrailingZeros64(m))
			}
			b.below[next-b.w+x] = v
		}
	}
}

// enter readies the seed rows above and at or below the first row of band i.
func (b *bands) enter(i int, above, below []int32) {
	o := i * b.w
	copy(above, b.above[o:o+b.w])
	for x, m := range b.mask[o : o+b.w] {
		if m != 0 {
			below[x] = int32(i*bandRows + bits.TrailingZeros64(m))
		} else {
			below[x] = b.below[o+x]
		}
	}
}

// costs gives for each column x of row y the squared distance to its nearest
// seed plus x², or noSite where the column has none. Rows of a band come in
// order; above and below follow them.
func (b *bands) costs(i, y int, above, below []int32, cost []int64) {
	o := i * b.w
	mask, after := b.mask[o:o+b.w], b.below[o:o+b.w]
	above, below, cost = above[:len(mask)], below[:len(mask)], cost[:len(mask)]
	after = after[:len(mask)]
	r := uint(y - i*bandRows)
	for x := range mask {
		lo := below[x]
		if int(lo) <= y {
			if int(lo) == y {
				above[x] = lo
				cost[x] = int64(x) * int64(x)
				continue
			}
			// The seed was in the row before: look for the next one.
			if m := mask[x] >> r; m != 0 {
				lo = int32(y + bits.TrailingZeros64(m))
			} else {
				lo = after[x]
			}
			below[x] = lo
			if int(lo) == y {
				above[x] = lo
				cost[x] = int64(x) * int64(x)
				continue
			}
		}
		g := int64(min(y-int(above[x]), int(lo)-y))
		if g >= farRow {
			cost[x] = noSite
			continue
		}
		cost[x] = g*g + int64(x)*int64(x)
	}
}
