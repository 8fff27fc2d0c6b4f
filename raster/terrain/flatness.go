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

// weight is how far the step takes over where its flatness is vf.
func (s *valleyScale) weight(vf float64) float64 { return 1 - nearness(vf, 0.4, s.power) }

// blend adds the step (2, 3 …) with flatness vf to the index of the steps
// before it: the coarse step takes over where it finds a bottom.
func (s *valleyScale) blend(vf, before float64) float64 {
	w := s.weight(vf)
	return w*(float64(s.step-1)+vf) + (1-w)*before
}

// flatnessThreshold is the slope (percent) of the first step on cells of this
// side (m): 16 % at the 25 m of the paper, and for other cells what keeps the
// paper's halving of the slope with each threefold width.
func flatnessThreshold(cell float64) float64 {
	return 16 * math.Pow(25/cell, math.Ln2/math.Log(3))
}

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

// maxValleySteps is the most steps that the index is kept for.
const maxValleySteps = 10

// ValleyFlatness gives the multiresolution valley bottom flatness of z, cells
// of cell metres, over the given number of steps (2 … 10): the index
// reaches steps − 0.01. From the third step on each step smooths the ground,
// takes its slope and makes it three times coarser. NaN where z is. The same
// bits whatever the tiles and workers.
func ValleyFlatness(ctx context.Context, z *raster.Plane[float32], cell float64, steps int, o Options) (*raster.Plane[float32], error) {
	return valleyFlatness(ctx, z, cell, steps, o, func(row []float64, out []float32) {
		for x, v := range row {
			out[x] = float32(v)
		}
	})
}

// Stored form of the index, for maps that have many other planes to keep.
const (
	FlatnessUnit    = 25  // steps of one unit of the index
	FlatnessMissing = 255 // no elevation
	storedTop       = 4   // a broad bottom: level over some 250 m and more
)

// flatnessShift is what the index on cells of this side (m) lacks of that on
// the paper's 25 m: a step is a width three times as large.
func flatnessShift(cell float64) float64 { return math.Log(cell/25) / math.Log(3) }

// FlatnessSteps is how many steps it takes on cells of this side (m) to tell
// bottoms as broad as the fourth step of the paper does on 25 m: 7 at 1 m, 5
// at 10 m, 4 from 25 to 50 m, 3 at 100 m.
func FlatnessSteps(cell float64) int {
	return int(min(max(math.Ceil(storedTop-flatnessShift(cell)), 2), maxValleySteps))
}

// StoredFlatness is ValleyFlatness over FlatnessSteps in one byte, counted in
// the steps of 25 m cells so that maps of different cells compare: index +
// log3(cell / 25 m), not below 0, times FlatnessUnit; FlatnessMissing where z
// is NaN. What no step finds to be a bottom has log3(cell / 25 m), which is
// 0.6 at 50 m and 1.3 at 100 m. Beside z it keeps one byte a cell and about an
// eighth of z.
func StoredFlatness(ctx context.Context, z *raster.Plane[float32], cell float64, o Options) (*raster.Plane[uint8], error) {
	shift := flatnessShift(cell)
	return valleyFlatness(ctx, z, cell, FlatnessSteps(cell), o, func(row []float64, out []uint8) {
		for x, v := range row {
			out[x] = FlatnessMissing
			if v == v {
				out[x] = uint8(min(max(v+shift, 0), maxValleySteps)*FlatnessUnit + 0.5)
			}
		}
	})
}
