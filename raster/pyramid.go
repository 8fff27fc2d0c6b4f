package raster

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"os"
	"unsafe"

	"github.com/klauspost/compress/zlib"
	"golang.org/x/sync/errgroup"
)

// pyramid packs a map and its overviews into tiles.
type pyramid[T CanCOG] struct {
	levels    []*level[T] // the map, then halves of it
	size      int         // bytes a cell
	float     bool
	predictor uint16
	noData    T
	hasNoData bool
	nearest   bool
	file      *os.File // tiles of the map itself
}

// level is one size of the map.
type level[T CanCOG] struct {
	w, h    int
	nx, ny  int // tiles
	counts  []uint32
	offsets []uint64
	data    bytes.Buffer // packed tiles of an overview
	rows    []T          // rows of the tile row being gathered
	have    int
}

func newPyramid[T CanCOG](w, h int, o TIFFOptions, file *os.File) *pyramid[T] {
	var z T
	p := &pyramid[T]{size: int(unsafe.Sizeof(z)), nearest: o.Nearest, file: file}
	_, p.float = any(z).(float32)
	switch {
	case p.float:
		p.predictor = 3
	case p.size == 2:
		p.predictor = 2
	default:
		p.predictor = 1
	}
	if o.NoData != nil {
		p.noData, p.hasNoData = T(*o.NoData), true
	}
	for {
		l := &level[T]{w: w, h: h, nx: (w + cogTile - 1) / cogTile, ny: (h + cogTile - 1) / cogTile}
		l.counts = make([]uint32, 0, l.nx*l.ny)
		l.offsets = make([]uint64, l.nx*l.ny)
		p.levels = append(p.levels, l)
		if w <= cogTile && h <= cogTile {
			return p
		}
		w, h = (w+1)/2, (h+1)/2
	}
}

// band is one tile row of the map, packed, and its halved rows.
type band[T CanCOG] struct {
	tiles [][]byte
	half  []T
	rows  int // of half
}

// build asks for the rows, packs them on the workers and gathers the results in order.
func (p *pyramid[T]) build(ctx context.Context, workers int, rows func(y, n int, dst []T) error) error {
	full := p.levels[0]
	workers = min(workers, full.ny)
	done := make([]chan band[T], full.ny)
	for i := range done {
		done[i] = make(chan band[T], 1)
	}
	ahead := make(chan struct{}, workers+1) // bands that may wait for their turn
	g, ctx := errgroup.WithContext(ctx)
	next := make(chan int)
	g.Go(func() error {
		defer close(next)
		for i := range full.ny {
			select {
			case ahead <- struct{}{}:
			case <-ctx.Done():
				return ctx.Err()
			}
			select {
			case next <- i:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		return nil
	})
	for range workers {
		g.Go(func() error {
			k := p.packer()
			buf := make([]T, full.w*min(cogTile, full.h))
			for i := range next {
				y := i * cogTile
				n := min(cogTile, full.h-y)
				if err := rows(y, n, buf[:n*full.w]); err != nil {
					return err
				}
				b := band[T]{}
				for x := range full.nx {
					b.tiles = append(b.tiles, k.tile(buf, full.w, n, x))
				}
				if len(p.levels) > 1 {
					b.half, b.rows = p.halve(buf[:n*full.w], full.w, n)
				}
				done[i] <- b
			}
			return nil
		})
	}
	g.Go(func() error {
		k := p.packer()
		for i := range full.ny {
			var b band[T]
			select {
			case b = <-done[i]:
			case <-ctx.Done():
				return ctx.Err()
			}
			for _, t := range b.tiles {
				full.counts = append(full.counts, uint32(len(t)-8))
				if _, err := p.file.Write(t); err != nil {
					return err
				}
			}
			if len(p.levels) > 1 {
				p.gather(1, b.half, b.rows, i == full.ny-1, k)
			}
			<-ahead
		}
		return nil
	})
	return g.Wait()
}

// gather adds rows to an overview, packs full tile rows, and passes their
// halves on.
func (p *pyramid[T]) gather(n int, rows []T, count int, last bool, k *packer[T]) {
	l := p.levels[n]
	l.rows = append(l.rows, rows[:count*l.w]...)
	l.have += count
	for l.have >= cogTile || (last && l.have > 0) {
		take := min(cogTile, l.have)
		for x := range l.nx {
			t := k.tile(l.rows, l.w, take, x)
			l.counts = append(l.counts, uint32(len(t)-8))
			l.data.Write(t)
		}
		end := last && take == l.have
		if n+1 < len(p.levels) {
			half, r := p.halve(l.rows[:take*l.w], l.w, take)
			p.gather(n+1, half, r, end, k)
		}
		l.have -= take
		l.rows = append(l.rows[:0], l.rows[take*l.w:]...)
	}
}

// halve makes rows of half the width and half the number.
func (p *pyramid[T]) halve(in []T, w, n int) (out []T, rows int) {
	hw, hn := (w+1)/2, (n+1)/2
	out = make([]T, hw*hn)
	for y := range hn {
		a := in[2*y*w : (2*y+1)*w]
		b := a
		if 2*y+1 < n {
			b = in[(2*y+1)*w : (2*y+2)*w]
		}
		o := out[y*hw : (y+1)*hw]
		if p.nearest {
			for x := range o {
				o[x] = a[2*x]
			}
			continue
		}
		for x := range o {
			x1 := min(2*x+1, w-1)
			o[x] = p.mean(a[2*x], a[x1], b[2*x], b[x1])
		}
	}
	return out, hn
}

// mean averages the cells with data.
func (p *pyramid[T]) mean(a, b, c, d T) T {
	if a == b && c == d && a == c {
		return a
	}
	if !p.float && !(p.hasNoData && (a == p.noData || b == p.noData || c == p.noData || d == p.noData)) {
		return T((uint32(a) + uint32(b) + uint32(c) + uint32(d) + 2) / 4)
	}
	sum, n := 0.0, 0
	for _, v := range [4]T{a, b, c, d} {
		if (p.hasNoData && v == p.noData) || v != v {
			continue
		}
		sum += float64(v)
		n++
	}
	if n == 0 {
		if !p.hasNoData {
			return a // NaN, like all four
		}
		return p.noData
	}
	sum /= float64(n)
	if !p.float {
		sum = math.Floor(sum + 0.5)
	}
	return T(sum)
}

// packer cuts and packs tiles with buffers of its own.
type packer[T CanCOG] struct {
	p   *pyramid[T]
	raw []byte
	row []byte
	out bytes.Buffer
	z   *zlib.Writer
	// tiles of one value come again and again outside the area; by their bits,
	// since NaN equals nothing and −0 equals 0
	flat map[uint32][]byte
}

func (p *pyramid[T]) packer() *packer[T] {
	k := &packer[T]{p: p, raw: make([]byte, cogTile*cogTile*p.size), row: make([]byte, cogTile*p.size), flat: map[uint32][]byte{}}
	z, err := zlib.NewWriterLevel(&k.out, cogLevel)
	if err != nil {
		panic(err) // the level is a constant
	}
	k.z = z
	return k
}

// cogLevel is the compression level: the levels above gain two to nine per cent
// of size on our rasters and take up to three times the time.
const cogLevel = 1

// tile packs the x-th tile of n rows of w cells. Beyond the map it is filled
// with nodata.
func (k *packer[T]) tile(rows []T, w, n, x int) []byte {
	p := k.p
	x0 := x * cogTile
	cols := min(cogTile, w-x0)
	first, same := uniform(rows[x0 : x0+cols])
	same = same && n == cogTile && cols == cogTile
	for y := 1; same && y < n; y++ {
		var bits uint32
		bits, same = uniform(rows[y*w+x0 : y*w+x0+cols])
		same = same && bits == first
	}
	if same {
		if t, ok := k.flat[first]; ok {
			return t
		}
	}
	var line [cogTile]T
	for y := range cogTile {
		for i := range line {
			line[i] = p.noData
		}
		if y < n {
			copy(line[:cols], rows[y*w+x0:y*w+x0+cols])
		}
		encodeRow(line[:], k.raw[y*cogTile*p.size:(y+1)*cogTile*p.size])
	}
	k.out.Reset()
	k.z.Reset(&k.out)
	k.z.Write(k.raw)
	k.z.Close()
	t := packed(k.out.Bytes())
	if same {
		k.flat[first] = t
	}
	return t
}

// uniform gives the bits of the first cell and whether all cells have the same.
func uniform[T CanCOG](line []T) (bits uint32, same bool) {
	if line, ok := any(line).([]float32); ok {
		bits = math.Float32bits(line[0])
		for _, v := range line {
			if math.Float32bits(v) != bits {
				return bits, false
			}
		}
		return bits, true
	}
	for _, v := range line {
		if v != line[0] {
			return 0, false
		}
	}
	return uint32(line[0]), true
}

// encodeRow turns a row of cells into predicted bytes (TIFF predictors: 3 for
// floats, Adobe Photoshop TIFF technical note 3, 2005; 2 for 16 bits; none for bytes).
func encodeRow[T CanCOG](line []T, out []byte) {
	n := len(line)
	switch line := any(line).(type) {
	case []float32:
		for i, v := range line {
			b := math.Float32bits(v)
			out[i], out[n+i], out[2*n+i], out[3*n+i] = byte(b>>24), byte(b>>16), byte(b>>8), byte(b)
		}
		last := byte(0)
		for i, b := range out {
			out[i], last = b-last, b
		}
	case []uint16:
		last := uint16(0)
		for i, v := range line {
			binary.LittleEndian.PutUint16(out[2*i:], v-last)
			last = v
		}
	case []uint8:
		copy(out, line)
	default:
		panic("raster: no way to pack this kind of cell")
	}
}
