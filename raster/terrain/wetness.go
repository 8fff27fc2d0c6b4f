package terrain

import (
	"context"
	"math"

	"rillwood/raster"
)

// Topographic wetness: Beven K.J., Kirkby M.J. (1979) A physically based,
// variable contributing area model of basin hydrology, Hydrological Sciences
// Bulletin 24(1):43–69.

// leastGradient stands for level ground, where the index has no bound.
const leastGradient = 0.001

// WetnessIndex is ln(a / tan β): area is the drainage area in km², the cell's
// own included, cell its side in metres (taken as the contour width) and
// gradient tan β, at least 0.001.
func WetnessIndex(areaKm2, cell, gradient float64) float64 {
	return math.Log(areaKm2 * 1e6 / cell / max(gradient, leastGradient))
}

// Wetness gives the topographic wetness index of every cell, from the steepest
// drop to one of its neighbours in z and the drainage area (km²) of Accumulate.
// NaN where either is missing. Its values depend on the size of the cells:
// compare them only within one map.
func Wetness(ctx context.Context, z, area *raster.Plane[float32], cell float64, o Options) (*raster.Plane[float32], error) {
	w, h := z.Size()
	out, err := raster.NewPlane[float32](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	err = eachBand(ctx, w, h, o, func(b *bandBuffers, y, n int) error {
		in, res := b.take((w+2)*(n+2), w*n)
		if err := z.ReadPadded(-1, y-1, w+2, n+2, in, float32(math.NaN())); err != nil {
			return err
		}
		if err := area.Read(0, y, w, n, res); err != nil {
			return err
		}
		for i, a := range res {
			drop := steepestDrop(in, (i/w+1)*(w+2)+i%w+1, w+2)
			res[i] = float32(WetnessIndex(float64(a), cell, drop/cell))
		}
		return out.Write(0, y, w, n, res)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}

// steepestDrop gives the largest drop per cell width from cell i to a
// neighbour: 0 when none is lower, NaN for a missing cell.
func steepestDrop(z []float32, i, stride int) float64 {
	c := float64(z[i])
	if c != c {
		return c
	}
	best := 0.0
	for d := range 8 {
		g := c - float64(z[i+dy[d]*stride+dx[d]])
		if d%2 == 1 {
			g /= math.Sqrt2
		}
		if g > best {
			best = g
		}
	}
	return best
}
