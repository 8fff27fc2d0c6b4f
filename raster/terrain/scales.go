package terrain

import (
	"context"
	"math"

	"rillwood/raster"
)

// Ground at coarser scales, for kernels that look at several.

// smoothRadius and smoothScale (cells) are those of the 11×11 Gaussian that
// comes before each coarsening.
const (
	smoothRadius = 5
	smoothScale  = 3
)

// smoothWeight is the Gaussian's weight by cells from the middle, along one axis.
var smoothWeight = func() (w [smoothRadius + 1]float64) {
	for i := range w {
		d := float64(i) / smoothScale
		w[i] = math.Exp(-d * d)
	}
	return w
}()

// gauss weighs eleven values. Every sum of weights goes through it too, so
// that a window without gaps gives the same bits as one with gaps elsewhere.
func gauss(v *[2*smoothRadius + 1]float64) float64 {
	w := &smoothWeight
	return (w[0]*v[5] + w[1]*(v[4]+v[6]) + w[2]*(v[3]+v[7])) + (w[3]*(v[2]+v[8]) + w[4]*(v[1]+v[9]) + w[5]*(v[0]+v[10]))
}

// wholeRow and wholeWeight are the sums of weights along a row and over the
// whole window where nothing is missing, added up by the code that does so
// where something is.
var wholeRow, wholeWeight = func() (row, all float64) {
	var ones [2*smoothRadius + 1]float64
	for i := range ones {
		ones[i] = 1
	}
	sum := make([]float64, 1)
	weighAlong(ones[:], sum)
	row = sum[0]
	for i := range ones {
		ones[i] = row
	}
	weighAcross(ones[:], 1, sum)
	return row, sum[0]
}()

// smoother weighs the 11×11 cells around each by a Gaussian, along the rows
// first and then along the columns. Missing cells are left out, and stay missing.
type smoother struct{ row, known, sum, weight []float64 }

// window smooths w×h cells; in has smoothRadius more on each side, its rows
// stride cells apart. out is w×h.
func (s *smoother) window(in []float32, stride, w, h int, out []float32) {
	const more = 2 * smoothRadius
	rows := h + more
	s.row, s.known = grown(s.row, w+more), grown(s.known, w+more)
	s.sum, s.weight = grown(s.sum, rows*w), grown(s.weight, rows*w)
	gaps := false
	for r := range rows {
		from := in[r*stride : r*stride+w+more]
		holes := false
		for x, v := range from {
			s.row[x], s.known[x] = float64(v), 1
			if v != v {
				s.row[x], s.known[x], holes = 0, 0, true
			}
		}
		weighAlong(s.row, s.sum[r*w:(r+1)*w])
		if holes && !gaps {
			gaps = true
			for i := range s.weight[:r*w] {
				s.weight[i] = wholeRow
			}
		}
		if holes {
			weighAlong(s.known, s.weight[r*w:(r+1)*w])
		} else if gaps {
			for i := range s.weight[r*w : (r+1)*w] {
				s.weight[r*w+i] = wholeRow
			}
		}
	}
	for r := range h {
		centre, to := in[(r+smoothRadius)*stride+smoothRadius:][:w], out[r*w:(r+1)*w]
		weighAcross(s.sum[r*w:], w, s.row[:w])
		if !gaps {
			for x := range to {
				to[x] = float32(s.row[x] / wholeWeight)
			}
			continue
		}
		weighAcross(s.weight[r*w:], w, s.known[:w])
		for x := range to {
			if to[x] = centre[x]; centre[x] == centre[x] {
				to[x] = float32(s.row[x] / s.known[x])
			}
		}
	}
}

// weighAlong weighs eleven neighbours along a row into each of out.
func weighAlong(v, out []float64) {
	for x := range out {
		out[x] = gauss((*[2*smoothRadius + 1]float64)(v[x : x+2*smoothRadius+1]))
	}
}

// weighAcross weighs eleven rows of w into one.
func weighAcross(v []float64, w int, out []float64) {
	row := func(k int) []float64 { return v[k*w : (k+1)*w][:len(out)] }
	a, b, c, d, e, f := row(0), row(1), row(2), row(3), row(4), row(5)
	g, h, i, j, k := row(6), row(7), row(8), row(9), row(10)
	t := &smoothWeight
	t0, t1, t2, t3, t4, t5 := t[0], t[1], t[2], t[3], t[4], t[5]
	for x := range out {
		out[x] = (t0*f[x] + t1*(e[x]+g[x]) + t2*(d[x]+h[x])) + (t3*(c[x]+i[x]) + t4*(b[x]+j[x]) + t5*(a[x]+k[x]))
	}
}

// thirdsOf makes cells three times as wide, each the mean of those it covers:
// out is w×h of them, in has rows stride cells apart.
func thirdsOf(in []float32, stride, w, h int, out []float32) {
	for r := range h {
		for x := range w {
			sum, count := 0.0, 0
			for k := range 3 {
				for _, v := range in[(3*r+k)*stride+3*x:][:3] {
					if v == v {
						sum += float64(v)
						count++
					}
				}
			}
			out[r*w+x] = float32(sum / float64(count)) // 0/0 is the NaN wanted
		}
	}
}

// halo is how many cells around its own a tile of the scale kernels reads: the
// circle of neighbours, and the Gaussian with one more cell for the slope.
const halo = laterRadius

// scaleTiles cuts a plane for the scale kernels: tiles that cover whole coarse
// cells and fit the ranking window with their halo.
func scaleTiles(w, h int, o Options) raster.Tiling {
	side := windowInner
	if o.Tile > 0 {
		side = min(side, (o.Tile+2)/3*3)
	}
	return raster.NewTiling(w, h, side)
}

// scaleBuffers are one worker's.
type scaleBuffers struct {
	in, smooth, out []float32
	ranked          ranked
	smoother        smoother
}

// read takes a tile with its halo out of z, NaN beyond the map; rows are
// windowSide cells apart.
func (b *scaleBuffers) read(z *raster.Plane[float32], t raster.Tile) error {
	rows := t.H + 2*halo
	b.in = grown(b.in, windowSide*rows)
	return z.ReadPadded(t.X-halo, t.Y-halo, windowSide, rows, b.in, float32(math.NaN()))
}

// smoothed gives the tile just read, smoothed, with one cell around it: rows of t.W + 2.
func (b *scaleBuffers) smoothed(t raster.Tile) []float32 {
	w, h := t.W+2, t.H+2
	b.smooth = grown(b.smooth, w*h)
	b.smoother.window(b.in, windowSide, w, h, b.smooth)
	return b.smooth
}

// slopeRow is Horn's gradient × 100 of row y of a window with one cell around
// it; missing neighbours count as level.
func slopeRow(in []float32, stride, y int, cell float64, out []float32) {
	GradientRow(in[y*stride:], in[(y+1)*stride:], in[(y+2)*stride:], cell, false, out)
	for x := range out {
		out[x] *= 100
	}
}

// coarser gives the ground smoothed and made three times coarser.
func coarser(ctx context.Context, z *raster.Plane[float32], o Options) (*raster.Plane[float32], error) {
	w, h := z.Size()
	out, err := raster.NewPlane[float32]((w+2)/3, (h+2)/3, o.Scratch)
	if err != nil {
		return nil, err
	}
	bufs := make([]scaleBuffers, max(1, o.Workers))
	err = scaleTiles(w, h, o).Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		b := &bufs[worker]
		cw, ch := (t.W+2)/3, (t.H+2)/3
		whole := raster.Tile{X: t.X, Y: t.Y, W: 3 * cw, H: 3 * ch} // at the far edges coarse cells reach beyond the map
		if err := b.read(z, whole); err != nil {
			return err
		}
		smooth := b.smoothed(whole)
		b.out = grown(b.out, cw*ch)
		stride := whole.W + 2
		thirdsOf(smooth[stride+1:], stride, cw, ch, b.out)
		return out.Write(t.X/3, t.Y/3, cw, ch, b.out)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}
