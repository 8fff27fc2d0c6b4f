package terrain

import (
	"context"
	"math"

	"rillwood/raster"
)

// Multiresolution valley bottom flatness: Gallant J.C., Dowling T.I. (2003) A
// multiresolution index of valley bottom flatness for mapping depositional
// areas, Water Resources Research 39(12):1347. Ground is a valley bottom when
// it is flat and low among its neighbours; broad bottoms show at coarse scales,
// narrow ones only at fine ones. Below 0.5 the ground is no valley bottom; each
// whole step above says it is one at a scale three times as broad, and flatter.

// nearness falls from 1 at x = 0 through 0.5 at x = t, the steeper the larger p.
func nearness(x, t, p float64) float64 {
	x /= t
	switch p { // the general power takes most of the time here
	case 3:
		return 1 / (1 + x*x*x)
	case 4:
		return 1 / (1 + x*x*x*x)
	}
	return 1 / (1 + math.Pow(x, p))
}

// flatGround is how flat a slope (percent) is for threshold t (percent).
func flatGround(slope, t float64) float64 { return nearness(slope, t, 4) }

// lowGround is how low a cell lies when this share of its neighbours is lower.
func lowGround(share float64) float64 { return nearness(share, 0.4, 3) }

// valleyFlat is the valley bottom flatness VF of one step from flatness times lowness.
func valleyFlat(product float64) float64 { return 1 - nearness(product, 0.3, 4) }

// valleyScale is one step of the index, counted from 1.
type valleyScale struct {
	step      int
	threshold float64 // slope in percent that is half flat
	power     float64 // how sharply the step takes over from those before
}

func newValleyScale(step int, threshold float64) valleyScale {
	return valleyScale{step, threshold, math.Log10((float64(step)-0.5)/0.1) / math.Log10(1.5)}
}

// blend adds the step (2, 3 …) with flatness vf to the index of the steps
// before it: the coarse step takes over where it finds a bottom.
func (s *valleyScale) blend(vf, before float64) float64 {
	w := 1 - nearness(vf, 0.4, s.power)
	return w*(float64(s.step-1)+vf) + (1-w)*before
}

// flatnessThreshold is the slope (percent) of the first step on cells of this
// side (m): 16 % at the 25 m of the paper, and for other cells what keeps the
// paper's halving of the slope with each threefold width.
func flatnessThreshold(cell float64) float64 {
	return 16 * math.Pow(25/cell, math.Ln2/math.Log(3))
}

// Radii (cells) of the circle of neighbours that a cell is compared with.
const (
	firstRadius = 3
	laterRadius = 6
)

// valleySteps carries the index of one cell from step to step.
type valleySteps struct {
	index float64 // MRVBF so far
	flat  float64 // combined flatness so far: the product of the steps' own
}

// add takes in the next step, its slope in percent and the share of lower
// neighbours. The second step looks at its own flatness alone, later ones at
// the product of all so far.
func (v *valleySteps) add(s *valleyScale, slope, lower float64) {
	f := flatGround(slope, s.threshold)
	low := lowGround(lower)
	switch s.step {
	case 1:
		v.flat = f
		v.index = valleyFlat(f * low)
	case 2:
		v.flat *= f
		v.index = s.blend(valleyFlat(f*low), v.index)
	default:
		v.flat *= f
		v.index = s.blend(valleyFlat(v.flat*low), v.index)
	}
}

// ValleyFlatness gives the multiresolution valley bottom flatness of z, cells
// of cell metres, over the given number of steps (at least two): the index
// reaches steps − 0.01. From the third step on each step smooths the ground,
// takes its slope and makes it three times coarser. NaN where z is.
func ValleyFlatness(ctx context.Context, z *raster.Plane[float32], cell float64, steps int, o Options) (*raster.Plane[float32], error) {
	w, h := z.Size()
	index, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	flat, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		index.Close()
		return nil, err
	}
	defer flat.Close()
	t := flatnessThreshold(cell)
	ground := scaled{z, 1}
	defer func() {
		if ground.p != z {
			ground.p.Close()
		}
	}()
	for l := 1; l <= max(2, steps); l++ {
		st := valleyStep{valleyScale: newValleyScale(l, t)}
		if l < 3 {
			st.slope, st.lower, err = lookAt(ctx, ground, ground, cell, map[int]int{1: firstRadius, 2: laterRadius}[l], o)
		} else {
			var smooth, coarse scaled
			if smooth, coarse, err = coarser(ctx, ground, o); err == nil {
				st.slope, st.lower, err = lookAt(ctx, smooth, coarse, cell, laterRadius, o)
				smooth.p.Close()
				if ground.p != z {
					ground.p.Close()
				}
				ground = coarse
			}
		}
		if err == nil {
			err = st.addTo(ctx, index, flat, o)
		}
		st.close()
		if err != nil {
			index.Close()
			return nil, err
		}
		t /= 2
	}
	if err := maskBy(ctx, index, z, o); err != nil {
		index.Close()
		return nil, err
	}
	return index, nil
}

// valleyStep is what one step sees.
type valleyStep struct {
	valleyScale
	slope, lower scaled // slope in percent, share of lower neighbours
}

func (st *valleyStep) close() {
	st.slope.p.Close()
	st.lower.p.Close()
}

// addTo brings the step down to the map's cells and adds it to the index.
func (st *valleyStep) addTo(ctx context.Context, index, flat *raster.Plane[float32], o Options) error {
	w, h := index.Size()
	type rows struct{ slope, lower, before []float32 }
	bufs := make([]rows, max(1, o.Workers))
	return raster.Parallel(ctx, o.Workers, h, func(worker, y int) error {
		b := &bufs[worker]
		b.slope, b.lower, b.before = grown(b.slope, w), grown(b.lower, w), grown(b.before, 2*w)
		if err := st.slope.row(y, b.slope); err != nil {
			return err
		}
		if err := st.lower.row(y, b.lower); err != nil {
			return err
		}
		in, fl := b.before[:w], b.before[w:]
		if err := index.Read(0, y, w, 1, in); err != nil {
			return err
		}
		if err := flat.Read(0, y, w, 1, fl); err != nil {
			return err
		}
		for x := range w {
			v := valleySteps{float64(in[x]), float64(fl[x])}
			v.add(&st.valleyScale, float64(b.slope[x]), float64(b.lower[x]))
			in[x], fl[x] = float32(v.index), float32(v.flat)
		}
		if err := index.Write(0, y, w, 1, in); err != nil {
			return err
		}
		return flat.Write(0, y, w, 1, fl)
	})
}

// maskBy blanks the cells that z has not: a coarse cell may cover a few of them.
func maskBy(ctx context.Context, p, z *raster.Plane[float32], o Options) error {
	w, h := p.Size()
	return eachBand(ctx, w, h, o, func(b *bandBuffers, y, n int) error {
		in, out := b.take(w*n, w*n)
		if err := z.Read(0, y, w, n, in); err != nil {
			return err
		}
		if err := p.Read(0, y, w, n, out); err != nil {
			return err
		}
		for i, v := range in {
			if v != v {
				out[i] = v
			}
		}
		return p.Write(0, y, w, n, out)
	})
}
