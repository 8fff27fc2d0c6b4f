package habitat

import (
	"math"
	"slices"

	"rillwood/habitat/evidence"
	"rillwood/raster/terrain"
)

// cellJudge judges tiles, one after another, with the same buffers.
type cellJudge struct {
	model     *Bottomland
	a, b      float64 // bankfull depth = a·km²^b, m
	cell      float64 // m
	mapW      int
	wantTerms bool
	present   []bool    // sizes the map holds; the first is a stream of any size
	sizes     []int     // places of those present
	refs      []baseRef // of the tile's bases
	slope     []float32
	cover     []uint8
	reach     []int32 // of each base, -2 = not looked up
	bottom    []uint16
	height    []uint16
	ratio     []uint16
	brook     []uint16 // height above streams of any size, in bankfull depths
	far       []uint16 // to the stream measured from
	conf      []uint8
	counts    [3]int64
	worth     *appraiser
	shift     []int8  // what layers of evidence say, in steps of 1/evidence.ShiftUnit
	flat      []uint8 // valley flatness, stored
	land      []uint8 // access status
	keep      []uint8 // keep-out reasons
	kept      [256]int64
	coverless int64 // cells judged without a land cover, where a layer is given
}

// sizeRef is a stream that cells are measured from, ready for many cells.
type sizeRef struct {
	z           float64 // m
	inv         float64 // 1 / bankfull depth
	floor, ceil float64 // between which height in bankfull depths is held
	x, y        float64 // column and row
}

// baseRef is the streams of one base, one for each size present. Where a size
// is not met down the water's way it is sought across the land, cell by cell.
type baseRef struct {
	s        [terrain.MaxSizes]sizeRef
	complete bool
}

// tile judges the cells of one tile into the buffers.
func (c *cellJudge) tile(v *terrain.View, g *ground) error {
	t := v.Tile
	n := t.W * t.H
	if len(c.bottom) != n {
		c.bottom, c.height, c.ratio = make([]uint16, n), make([]uint16, n), make([]uint16, n)
		c.brook, c.far = make([]uint16, n), make([]uint16, n)
		c.conf = make([]uint8, n)
	}
	if len(c.slope) != t.W {
		c.slope = make([]float32, t.W)
	}
	if err := g.status.Read(t.X, t.Y, t.W, t.H, c.conf); err != nil {
		return err
	}
	if err := c.readEvidence(v, g); err != nil {
		return err
	}
	c.prepare(v)
	for y := range t.H {
		mid := v.Z[(y+1)*(t.W+2):]
		terrain.GradientRow(v.Z[y*(t.W+2):], mid, v.Z[(y+2)*(t.W+2):], c.cell, false, c.slope)
		for x := range t.W {
			i := y*t.W + x
			z := mid[x+1]
			if z != z || c.conf[i] == confOutside {
				c.bottom[i], c.height[i], c.ratio[i], c.conf[i] = storedNone, storedNone, storedNone, confOutside
				c.brook[i], c.far[i] = storedNone, storedNone
				continue
			}
			if !c.present[0] {
				c.bottom[i], c.height[i], c.ratio[i] = storedNone, storedNone, storedNone
				c.brook[i], c.far[i] = storedNone, storedNone
				c.counts[confUnknown]++
				continue
			}
			ref, conf := &c.refs[v.Base[i]], uint8(confDrained)
			if !ref.complete {
				across := c.across(v, v.Base[i], x, y)
				if v.Bases[v.Base[i]].Cell[0] < 0 {
					conf = confAcross
				}
				ref = &across
			}
			c.conf[i] = conf
			c.counts[conf]++
			c.judge(i, ref, float64(z), float64(t.X+x), float64(t.Y+y), float64(c.slope[x]))
		}
	}
	return nil
}

// readEvidence fetches what is known of a tile's cells beside the terrain.
func (c *cellJudge) readEvidence(v *terrain.View, g *ground) error {
	t := v.Tile
	n := t.W * t.H
	if g.evidence != nil {
		c.shift = slices.Grow(c.shift[:0], n)[:n]
		if err := g.evidence.Read(t.X, t.Y, t.W, t.H, c.shift); err != nil {
			return err
		}
	}
	if g.flatness != nil {
		c.flat = slices.Grow(c.flat[:0], n)[:n]
		return g.flatness.Read(t.X, t.Y, t.W, t.H, c.flat)
	}
	return nil
}

// judge gives one cell its height, ratio and bottomland.
func (c *cellJudge) judge(i int, ref *baseRef, z, x, y, gradient float64) {
	near := &ref.s[0]
	h := max(z-near.z, 0)
	small := fastLn(min(max(h*near.inv, near.floor), near.ceil))
	mean := small
	if k := len(c.sizes) - 1; k > 0 {
		product := 1.0
		for _, r := range ref.s[1 : k+1] {
			product *= min(max((z-r.z)*r.inv, r.floor), r.ceil)
		}
		mean = fastLn(product) / float64(k)
		near = &ref.s[1]
	}
	m := c.model
	ex, ey := x-near.x, y-near.y
	base, slope := m.Intercept.Value, m.WeightSlope.Value
	if len(c.flat) > 0 && c.flat[i] != flatnessNone {
		base, slope = m.Flatness.Intercept.Value+m.Flatness.Term(float64(c.flat[i])/flatnessUnit), m.Flatness.WeightSlope.Value
	}
	distance := math.Sqrt(ex*ex + ey*ey) // cells
	logit := base + m.WeightR.Value*mean + m.WeightSmall.Value*small +
		slope*fastLn(1+100*gradient) + m.WeightDistance.Value*c.cell/1000*distance
	if len(c.shift) > 0 && c.shift[i] != 0 {
		logit = m.Evidence.Apply(logit, float64(c.shift[i])/evidence.ShiftUnit)
	}
	c.height[i] = uint16(min(h*heightUnit+0.5, storedNone-1))
	c.bottom[i] = uint16(fastLogistic(logit)*bottomUnit + 0.5)
	if c.wantTerms {
		c.ratio[i], c.brook[i] = ratioOf(mean), ratioOf(small)
		c.far[i] = stored(distance*c.cell, distanceUnit)
	}
}

// prepare works out the streams of a tile's bases, once each.
func (c *cellJudge) prepare(v *terrain.View) {
	c.present = v.Present()
	c.sizes = c.sizes[:0]
	for s, ok := range c.present {
		if ok {
			c.sizes = append(c.sizes, s)
		}
	}
	if cap(c.refs) < len(v.Bases) {
		c.refs = make([]baseRef, len(v.Bases)*2)
	}
	c.refs = c.refs[:len(v.Bases)]
	for i := range v.Bases {
		b, r := &v.Bases[i], &c.refs[i]
		r.complete = true
		for k, s := range c.sizes {
			if b.Cell[s] < 0 {
				r.complete = false
				continue
			}
			if k > 0 && b.Cell[s] == b.Cell[c.sizes[k-1]] {
				r.s[k] = r.s[k-1] // the same stream serves both
				continue
			}
			r.s[k] = c.ref(b.Z[s], b.Area[s], b.Cell[s])
		}
	}
}

func (c *cellJudge) ref(z, km2 float32, cell int64) sizeRef {
	depth := c.a * math.Pow(float64(km2), c.b)
	floor := max(c.model.RFloor, c.model.HeightErrorM/depth)
	return sizeRef{z: float64(z), inv: 1 / depth, floor: floor, ceil: max(c.model.RCeiling, floor),
		x: float64(cell % int64(c.mapW)), y: float64(cell / int64(c.mapW))}
}

// across completes a base for one cell with the nearest streams over land.
func (c *cellJudge) across(v *terrain.View, base int32, x, y int) baseRef {
	ref := c.refs[base]
	for k, s := range c.sizes {
		if v.Bases[base].Cell[s] < 0 {
			z, km2, cell, _ := v.Across(s, x, y)
			ref.s[k] = c.ref(z, km2, cell)
		}
	}
	return ref
}
