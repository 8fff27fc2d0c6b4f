package terrain

import (
	"context"
	"math"

	"rillwood/raster"
)

// valleyLevel is the ground at one coarseness: cells k of the map's cells wide.
type valleyLevel struct {
	k     int
	lower *raster.Plane[float32] // share of lower neighbours
	slope *raster.Plane[float32] // percent, of this ground smoothed; nil at the coarsest level
}

// valleyMap is what all tiles share.
type valleyMap struct {
	z      *raster.Plane[float32]
	cell   float64
	scales []quickScale
	levels []valleyLevel // the first is three cells wide
}

// valleyFlatness works out the coarse levels, each from the one before, and
// then all steps tile by tile: no plane of the map's size is kept but the result.
func valleyFlatness[T raster.Elem](ctx context.Context, z *raster.Plane[float32], cell float64, steps int, o Options, store func([]float64, []T)) (*raster.Plane[T], error) {
	m := &valleyMap{z: z, cell: cell}
	defer func() {
		for _, l := range m.levels {
			l.lower.Close()
			l.slope.Close()
		}
	}()
	t := flatnessThreshold(cell)
	for step := 1; step <= min(max(2, steps), maxValleySteps); step++ {
		m.scales = append(m.scales, newQuickScale(newValleyScale(step, t)))
		t /= 2
	}
	if err := m.coarsen(ctx, o); err != nil {
		return nil, err
	}
	w, h := z.Size()
	out, err := raster.NewPlane[T](w, h, o.Scratch)
	if err != nil {
		return nil, err
	}
	type worker struct {
		valleyTile
		out []T
	}
	workers := make([]worker, max(1, o.Workers))
	err = scaleTiles(w, h, o).Each(ctx, o.Workers, func(i int, t raster.Tile) error {
		k := &workers[i]
		if err := k.start(m, t); err != nil {
			return err
		}
		k.out = grown(k.out, t.W*t.H)
		for y := range t.H {
			store(k.row(m, y), k.out[y*t.W:(y+1)*t.W])
		}
		return out.Write(t.X, t.Y, t.W, t.H, k.out)
	})
	if err != nil {
		out.Close()
		return nil, err
	}
	return out, nil
}

// coarsen makes the levels.
func (m *valleyMap) coarsen(ctx context.Context, o Options) error {
	ground := m.z
	defer func() {
		if ground != m.z {
			ground.Close()
		}
	}()
	for k := 3; len(m.levels)+2 < len(m.scales); k *= 3 {
		next, err := coarser(ctx, ground, o)
		if err != nil {
			return err
		}
		if ground != m.z {
			ground.Close()
		}
		ground = next
		l := valleyLevel{k: k}
		err = l.look(ctx, ground, m.cell*float64(k), len(m.levels)+3 < len(m.scales), o)
		m.levels = append(m.levels, l)
		if err != nil {
			return err
		}
	}
	return nil
}

// look fills the level's planes from its ground.
func (l *valleyLevel) look(ctx context.Context, z *raster.Plane[float32], cell float64, slope bool, o Options) (err error) {
	w, h := z.Size()
	if l.lower, err = raster.NewPlane[float32](w, h, o.Scratch); err != nil {
		return err
	}
	if slope {
		if l.slope, err = raster.NewPlane[float32](w, h, o.Scratch); err != nil {
			return err
		}
	}
	bufs := make([]scaleBuffers, max(1, o.Workers))
	return scaleTiles(w, h, o).Each(ctx, o.Workers, func(worker int, t raster.Tile) error {
		b := &bufs[worker]
		if err := b.read(z, t); err != nil {
			return err
		}
		b.out = grown(b.out, t.W*t.H)
		b.ranked.load(b.in, t.H+2*halo)
		for y := range t.H {
			b.ranked.shares(b.in, y, b.out[y*t.W:(y+1)*t.W])
		}
		if err := l.lower.Write(t.X, t.Y, t.W, t.H, b.out); err != nil || !slope {
			return err
		}
		smooth := b.smoothed(t)
		for y := range t.H {
			slopeRow(smooth, t.W+2, y, cell, b.out[y*t.W:(y+1)*t.W])
		}
		return l.slope.Write(t.X, t.Y, t.W, t.H, b.out)
	})
}

// shares gives the share of lower neighbours within the later radius along row
// y of the inner part of the window z that was ranked; NaN where z is.
func (r *ranked) shares(z []float32, y int, out []float32) {
	all := lowLater.all
	for x := 0; x < len(out); x += 4 {
		_, later := r.lower(x, y)
		for i := range min(4, len(out)-x) {
			out[x+i] = float32(math.NaN())
			if v := z[(y+halo)*windowSide+x+i+halo]; v == v {
				if r.gaps {
					all = r.neighbours(x+i, y, laterHalf)
				}
				out[x+i] = shareOf(int(later>>(16*i)&0xffff), all)
			}
		}
	}
}

// valleyTile is one worker's tile of the map.
type valleyTile struct {
	scaleBuffers
	tile         raster.Tile
	slope, third []float32 // percent: of the ground and of it smoothed
	lower, again []sampler // of the levels: share of lower neighbours, slope
	index, flat  []float64
}

// start reads the tile and what it needs of the levels.
func (v *valleyTile) start(m *valleyMap, t raster.Tile) error {
	v.tile = t
	if err := v.read(m.z, t); err != nil {
		return err
	}
	v.ranked.load(v.in, t.H+2*halo)
	v.slope, v.third = grown(v.slope, t.W), grown(v.third, t.W)
	v.index, v.flat = grown(v.index, t.W), grown(v.flat, t.W)
	if len(m.levels) > 0 {
		v.smoothed(t)
	}
	v.lower, v.again = grown(v.lower, len(m.levels)), grown(v.again, len(m.levels))
	for i := range m.levels {
		l := &m.levels[i]
		if err := v.lower[i].read(l.lower, l.k, t); err != nil {
			return err
		}
		if l.slope != nil {
			if err := v.again[i].read(l.slope, l.k, t); err != nil {
				return err
			}
		}
	}
	return nil
}

// row gives the index along row y of the tile.
func (v *valleyTile) row(m *valleyMap, y int) []float64 {
	slopeRow(v.in[(halo-1)*windowSide+halo-1:], windowSide, y, m.cell, v.slope)
	v.finest(&m.scales[0], &m.scales[1], y)
	for i := range m.levels {
		s := &m.scales[i+2]
		low := &v.lower[i]
		low.row(v.tile.Y + y)
		if i == 0 {
			slopeRow(v.smooth, v.tile.W+2, y, m.cell, v.third)
			for x, flat := range v.flat {
				if flat > s.least {
					v.flat[x], v.index[x] = s.add(flat, v.index[x], float64(v.third[x]), low, x)
				}
			}
			continue
		}
		slope := &v.again[i-1]
		slope.row(v.tile.Y + y)
		for x, flat := range v.flat {
			if flat > s.least {
				v.flat[x], v.index[x] = s.add(flat, v.index[x], slope.at(x), low, x)
			}
		}
	}
	return v.index
}

// finest does the two steps on the map's own cells along row y.
func (v *valleyTile) finest(one, two *quickScale, y int) {
	n1, n2 := lowFirst.all, lowLater.all
	r := &v.ranked
	for x := 0; x < len(v.index); x += 4 {
		first, later := r.lower(x, y)
		for i := x; i < min(x+4, len(v.index)); i++ {
			a, b := int(first&0xffff), int(later&0xffff)
			first, later = first>>16, later>>16
			if z := v.in[(y+halo)*windowSide+i+halo]; z != z {
				v.index[i], v.flat[i] = math.NaN(), 0
				continue
			}
			if r.gaps {
				n1, n2 = r.neighbours(i, y, firstHalf), r.neighbours(i, y, laterHalf)
			}
			slope := float64(v.slope[i])
			f1, f2 := flatGround(slope, one.threshold), flatGround(slope, two.threshold)
			index := valleyFlat(f1 * lowFirst.of(a, n1))
			v.index[i] = two.blend(f2*lowLater.of(b, n2), index)
			v.flat[i] = f1 * f2
		}
	}
}
