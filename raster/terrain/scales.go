package terrain

import (
	"context"
	"math"

	"rillwood/raster"
)

// Ground at coarser scales, for kernels that look at several.

// scaled is a plane whose cells are k of the map's cells wide, its first
// corner the map's.
type scaled struct {
	p *raster.Plane[float32]
	k int
}

// row gives the map's row y, bilinear between the coarse cells' middles. Missing
// coarse cells are left out of the mean; NaN where all four are missing.
func (s scaled) row(y int, dst []float32) error {
	w, h := s.p.Size()
	if s.k == 1 {
		return s.p.Read(0, y, w, 1, dst)
	}
	// position gives the two cells around a middle and the second's weight.
	position := func(i, n int) (a, b int, t float64) {
		f := (float64(i)+0.5)/float64(s.k) - 0.5
		f = min(max(f, 0), float64(n-1))
		a = int(f)
		return a, min(a+1, n-1), f - float64(a)
	}
	y0, y1, ty := position(y, h)
	up, down := make([]float32, w), make([]float32, w)
	if err := s.p.Read(0, y0, w, 1, up); err != nil {
		return err
	}
	if err := s.p.Read(0, y1, w, 1, down); err != nil {
		return err
	}
	for x := range dst {
		x0, x1, tx := position(x, w)
		sum, weight := 0.0, 0.0
		add := func(v float32, w float64) {
			if v == v {
				sum += w * float64(v)
				weight += w
			}
		}
		add(up[x0], (1-tx)*(1-ty))
		add(up[x1], tx*(1-ty))
		add(down[x0], (1-tx)*ty)
		add(down[x1], tx*ty)
		dst[x] = float32(sum / weight) // 0/0 is the NaN wanted
	}
	return nil
}

// lookAt gives the slope in percent of one ground and, of another, the share
// of lower neighbours within radius. cell is the side of the map's cells in metres.
func lookAt(ctx context.Context, slopeOf, lowerOf scaled, cell float64, radius int, o Options) (slope, lower scaled, err error) {
	slope.k, lower.k = slopeOf.k, lowerOf.k
	if slope.p, err = slopePercent(ctx, slopeOf.p, cell*float64(slopeOf.k), o); err != nil {
		return slope, lower, err
	}
	if lower.p, err = lowerShare(ctx, lowerOf.p, radius, o); err != nil {
		slope.p.Close()
		slope.p = nil
	}
	return slope, lower, err
}

// slopePercent is Horn's gradient × 100; missing neighbours count as level.
func slopePercent(ctx context.Context, z *raster.Plane[float32], cell float64, o Options) (*raster.Plane[float32], error) {
	return window(ctx, z, 1, o, func(in []float32, stride, w, n int, out []float32) {
		for r := range n {
			row := out[r*w : (r+1)*w]
			GradientRow(in[r*stride:], in[(r+1)*stride:], in[(r+2)*stride:], cell, false, row)
			for x := range row {
				row[x] *= 100
			}
		}
	})
}

// lowerShare gives the share of a cell's neighbours, within a circle of radius
// cells, that are lower than it; a half where it has none.
func lowerShare(ctx context.Context, z *raster.Plane[float32], radius int, o Options) (*raster.Plane[float32], error) {
	return window(ctx, z, radius, o, func(in []float32, stride, w, n int, out []float32) {
		var around []int
		for y := -radius; y <= radius; y++ {
			for x := -radius; x <= radius; x++ {
				if d := x*x + y*y; d > 0 && d <= radius*radius {
					around = append(around, y*stride+x)
				}
			}
		}
		missing := make([]int, stride) // in each column of the circle's rows
		for r := range n {
			clear(missing)
			for i, v := range in[r*stride : (r+2*radius+1)*stride] {
				if v != v {
					missing[i%stride]++
				}
			}
			gaps := 0 // in the circle's square
			for _, m := range missing[:2*radius] {
				gaps += m
			}
			for x := range w {
				gaps += missing[x+2*radius]
				i := (r+radius)*stride + radius + x
				if gaps == 0 {
					out[r*w+x] = float32(float64(countLower(in, i, around)) / float64(len(around)))
				} else {
					out[r*w+x] = lowerAmongGaps(in, i, around)
				}
				gaps -= missing[x]
			}
		}
	})
}

// countLower counts the cells around i that are lower, none missing. A test
// per cell would be guessed wrongly half the time and cost five times as much,
// so the sign of the difference is added up; a difference of −0 counts 0.
func countLower(z []float32, i int, around []int) (n uint64) {
	c := z[i]
	for _, off := range around {
		n += (uint64(math.Float32bits(z[i+off]-c)) + 1<<31 - 1) >> 32
	}
	return n
}

// lowerAmongGaps gives the share of lower cells where some are missing.
func lowerAmongGaps(z []float32, i int, around []int) float32 {
	c := z[i]
	all, lower := 0, 0
	for _, off := range around {
		v := z[i+off]
		if v == v {
			all++
		}
		if v < c {
			lower++
		}
	}
	switch {
	case c != c:
		return c
	case all == 0:
		return 0.5
	}
	return float32(float64(lower) / float64(all))
}

// smoothRadius and smoothScale (cells) are those of the 11×11 Gaussian that
// comes before each coarsening.
const (
	smoothRadius = 5
	smoothScale  = 3
)

// coarser gives the ground smoothed, and that made three times coarser.
func coarser(ctx context.Context, ground scaled, o Options) (smooth, coarse scaled, err error) {
	p, err := smoothed(ctx, ground.p, o)
	if err != nil {
		return smooth, coarse, err
	}
	q, err := thirds(ctx, p, o)
	if err != nil {
		p.Close()
		return smooth, coarse, err
	}
	return scaled{p, ground.k}, scaled{q, 3 * ground.k}, nil
}

// smoothed weighs the 11×11 cells around each by a Gaussian; missing cells are
// left out, and stay missing.
func smoothed(ctx context.Context, z *raster.Plane[float32], o Options) (*raster.Plane[float32], error) {
	var weight [2*smoothRadius + 1]float64
	for i := range weight {
		d := float64(i-smoothRadius) / smoothScale
		weight[i] = math.Exp(-d * d)
	}
	return window(ctx, z, smoothRadius, o, func(in []float32, stride, w, n int, out []float32) {
		// Rows first, then columns: the weights are a product of the two.
		rows := n + 2*smoothRadius
		sum, tot := make([]float64, rows*w), make([]float64, rows*w)
		for r := range rows {
			for x := range w {
				var s, t float64
				for k, v := range in[r*stride+x : r*stride+x+len(weight)] {
					if v == v {
						s += weight[k] * float64(v)
						t += weight[k]
					}
				}
				sum[r*w+x], tot[r*w+x] = s, t
			}
		}
		for r := range n {
			for x := range w {
				c := in[(r+smoothRadius)*stride+smoothRadius+x]
				if c != c {
					out[r*w+x] = c
					continue
				}
				var s, t float64
				for k, g := range weight {
					s += g * sum[(r+k)*w+x]
					t += g * tot[(r+k)*w+x]
				}
				out[r*w+x] = float32(s / t)
			}
		}
	})
}

// thirds makes cells three times as wide, each the mean of those it covers.
func thirds(ctx context.Context, z *raster.Plane[float32], o Options) (*raster.Plane[float32], error) {
	w, h := z.Size()
	cw, ch := (w+2)/3, (h+2)/3
	out, err := raster.NewPlane[float32](cw, ch, o.Scratch)
	if err != nil {
		return nil, err
	}
	err = eachBand(ctx, cw, ch, o, func(b *bandBuffers, y, n int) error {
		in, res := b.take(3*cw*3*n, cw*n)
		if err := z.ReadPadded(0, 3*y, 3*cw, 3*n, in, float32(math.NaN())); err != nil {
			return err
		}
		for r := range n {
			for x := range cw {
				sum, count := 0.0, 0
				for k := range 9 {
					if v := in[(3*r+k/3)*3*cw+3*x+k%3]; v == v {
						sum += float64(v)
						count++
					}
				}
				res[r*cw+x] = float32(sum / float64(count)) // 0/0 is the NaN wanted
			}
		}
		return out.Write(0, y, cw, n, res)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}

// window runs f over bands of z read with margin more cells on each side
// (stride w + 2·margin; NaN outside), n rows of w cells to write at a time.
func window(ctx context.Context, z *raster.Plane[float32], margin int, o Options, f func(in []float32, stride, w, n int, out []float32)) (*raster.Plane[float32], error) {
	w, h := z.Size()
	out, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	stride := w + 2*margin
	err = eachBand(ctx, w, h, o, func(b *bandBuffers, y, n int) error {
		rows := n + 2*margin
		in, res := b.take(stride*rows, w*n)
		if err := z.ReadPadded(-margin, y-margin, stride, rows, in, float32(math.NaN())); err != nil {
			return err
		}
		f(in, stride, w, n, res)
		return out.Write(0, y, w, n, res)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}
