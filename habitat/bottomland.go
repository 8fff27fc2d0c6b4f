package habitat

import (
	"context"
	"math"

	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/raster/terrain"
)

// Planes hold what is judged of each cell in small whole numbers: fine enough
// that no one can see the steps, and a quarter of the memory.
const (
	bottomUnit = 16384 // stored bottomland = probability × bottomUnit
	heightUnit = 64    // stored height = metres × heightUnit
	ratioUnit  = 256   // stored relative height = ratio × ratioUnit
	storedNone = 65535
)

// Confidence classes of a cell's height.
const (
	confUnknown = 0 // no stream is known for it
	confDrained = 1 // measured along the water's way
	confAcross  = 2 // its water leaves the map first: measured from the nearest stream across the land
)

// judgement is what is known of each cell after the streams are measured from.
type judgement struct {
	bottom  *raster.Plane[uint16] // bottomland probability
	height  *raster.Plane[uint16] // above the nearest stream of any size
	ratio   *raster.Plane[uint16] // relative height: geometric mean over the sizes; nil = not wanted
	conf    *raster.Plane[uint8]
	sizes   []float64 // km², those the map holds
	absent  []float64 // and those it does not
	counts  [3]int64  // cells by confidence, inside the area
	hollows int64     // closed hollows that routing opened

	// Cells that may join a patch, in groups by the reach they drain to, and
	// the cells near them that never may.
	runs, forbidden []region.Run
}

func (j *judgement) close() {
	j.bottom.Close()
	j.height.Close()
	j.ratio.Close()
	j.conf.Close()
}

// stored rounds v × unit into the range of the planes.
func stored(v, unit float64) uint16 {
	q := math.Round(v * unit)
	if !(q < storedNone) {
		return storedNone - 1
	}
	return uint16(max(q, 0))
}

// judgeBottomland measures every cell from its streams and gives its chance of
// being bottomland.
// Cells whose suitability by the table reaches threshold are listed for the shortlist.
func judge(ctx context.Context, g *ground, w *water, p *Profile, curve Bankfull, table *HostTable, threshold float64, o runOptions) (*judgement, error) {
	f := g.frame
	j := &judgement{hollows: w.routing.Stats.Pits}
	var err error
	if j.bottom, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if j.height, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if j.conf, err = raster.NewPlane[uint8](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if o.ratio {
		if j.ratio, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
			return nil, err
		}
	}
	b := &p.Bottomland
	st := &terrain.Streams{Burn: g.burn, Area: w.area, Sizes: append([]float64{0}, b.SizesKm2...)}
	if g.burn == nil {
		st.Threshold = o.thresholdKm2
	}
	workers := make([]cellJudge, max(1, o.workers))
	runs, forbidden := make([][]region.Run, w.routing.Tiles.N()), make([][]region.Run, w.routing.Tiles.N())
	err = terrain.Heights(ctx, st, w.routing, g.z, o.terrain("measuring heights"), func(worker int, v *terrain.View) error {
		c := &workers[worker]
		c.model, c.curve, c.cell = b, curve, f.Cell
		if err := c.tile(v, g); err != nil {
			return err
		}
		t := v.Tile
		var err error
		if runs[t.Index], forbidden[t.Index], err = c.candidates(v, g, table, float32(threshold)); err != nil {
			return err
		}
		if err := j.bottom.Write(t.X, t.Y, t.W, t.H, c.bottom); err != nil {
			return err
		}
		if err := j.height.Write(t.X, t.Y, t.W, t.H, c.height); err != nil {
			return err
		}
		if err := j.conf.Write(t.X, t.Y, t.W, t.H, c.conf); err != nil {
			return err
		}
		if o.ratio {
			return j.ratio.Write(t.X, t.Y, t.W, t.H, c.ratio)
		}
		return nil
	})
	if err != nil {
		j.close()
		return nil, err
	}
	j.runs, j.forbidden = joinRuns(runs), joinRuns(forbidden)
	for i := range workers {
		for k, n := range workers[i].counts {
			j.counts[k] += n
		}
		if workers[i].present != nil && j.sizes == nil && j.absent == nil {
			for s, ok := range workers[i].present[1:] {
				if ok {
					j.sizes = append(j.sizes, b.SizesKm2[s])
				} else {
					j.absent = append(j.absent, b.SizesKm2[s])
				}
			}
		}
	}
	return j, nil
}

// cellJudge judges tiles, one after another, with the same buffers.
type cellJudge struct {
	model   *Bottomland
	curve   Bankfull
	cell    float64
	depth   [][terrain.MaxSizes]float64 // of each base: bankfull depth, m
	slope   []float32
	inside  []uint8
	cover   []uint8
	reach   []int32 // of each base, -2 = not looked up
	bottom  []uint16
	height  []uint16
	ratio   []uint16
	conf    []uint8
	counts  [3]int64
	present []bool
}

func (c *cellJudge) tile(v *terrain.View, g *ground) error {
	t := v.Tile
	n := t.W * t.H
	if len(c.bottom) != n {
		c.bottom, c.height, c.ratio = make([]uint16, n), make([]uint16, n), make([]uint16, n)
		c.conf, c.inside = make([]uint8, n), make([]uint8, n)
	}
	if len(c.slope) != t.W {
		c.slope = make([]float32, t.W)
	}
	if g.inside != nil {
		if err := g.inside.Read(t.X, t.Y, t.W, t.H, c.inside); err != nil {
			return err
		}
	}
	c.present = v.Present()
	c.depths(v.Bases)
	a, b := c.curve.Metric()
	depthOf := func(km2 float32) float64 { return a * math.Pow(float64(km2), b) }
	m := c.model
	sizes := len(c.present)
	for y := range t.H {
		up := v.Z[y*(t.W+2):]
		mid := v.Z[(y+1)*(t.W+2):]
		terrain.GradientRow(up, mid, v.Z[(y+2)*(t.W+2):], c.cell, false, c.slope)
		for x := range t.W {
			i := y*t.W + x
			z := mid[x+1]
			c.bottom[i], c.height[i], c.ratio[i], c.conf[i] = storedNone, storedNone, storedNone, confUnknown
			if z != z || (g.inside != nil && c.inside[i] == 0) {
				continue
			}
			base := &v.Bases[v.Base[i]]
			depth := &c.depth[v.Base[i]]
			conf := uint8(confDrained)
			product, k := 1.0, 0
			var h0, lnSmall, dist float64
			for s := range sizes {
				if !c.present[s] {
					continue
				}
				h, d, cell := float64(z-base.Z[s]), depth[s], base.Cell[s]
				if cell < 0 {
					zs, km2, near, _ := v.Across(s, x, y)
					h, d, cell = float64(z-zs), depthOf(km2), near
					if s == 0 {
						conf = confAcross
					}
				}
				if k == 0 { // any size, then the smallest of the sizes
					dist = c.distance(cell, t.X+x, t.Y+y, g.frame.W)
				}
				if s == 0 {
					h0 = max(h, 0)
					lnSmall = m.LnR(h, d)
					continue
				}
				product *= m.ratio(h, d)
				k++
			}
			if !c.present[0] {
				c.counts[confUnknown]++
				continue
			}
			meanLn := lnSmall
			if k > 0 {
				meanLn = math.Log(product) / float64(k)
			}
			c.conf[i] = conf
			c.counts[conf]++
			c.height[i] = stored(h0, heightUnit)
			c.ratio[i] = stored(math.Exp(meanLn), ratioUnit)
			c.bottom[i] = stored(Logistic(m.Logit(meanLn, lnSmall, 100*float64(c.slope[x]), dist)), bottomUnit)
		}
	}
	return nil
}

// distance is the straight line, in metres, from a cell to a stream cell.
func (c *cellJudge) distance(cell int64, x, y, mapW int) float64 {
	ex, ey := float64(cell%int64(mapW)-int64(x)), float64(cell/int64(mapW)-int64(y))
	return math.Sqrt(ex*ex+ey*ey) * c.cell
}

// depths works out the bankfull depths of a tile's streams, once each.
func (c *cellJudge) depths(bases []terrain.Base) {
	if cap(c.depth) < len(bases) {
		c.depth = make([][terrain.MaxSizes]float64, len(bases)*2)
	}
	c.depth = c.depth[:len(bases)]
	a, b := c.curve.Metric()
	for i := range bases {
		last, depth := float32(-1), 0.0
		for s := range c.present {
			if bases[i].Cell[s] < 0 {
				continue
			}
			if bases[i].Area[s] != last {
				last = bases[i].Area[s]
				depth = a * math.Pow(float64(last), b)
			}
			c.depth[i][s] = depth
		}
	}
}
