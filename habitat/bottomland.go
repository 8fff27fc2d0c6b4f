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
	bottomUnit   = 16384 // stored bottomland = probability × bottomUnit
	heightUnit   = 64    // stored height = metres × heightUnit
	ratioUnit    = 256   // stored relative height = ratio × ratioUnit
	distanceUnit = 4     // stored distance = metres × distanceUnit
	findsUnit    = 4096  // stored expected finds per hectare = finds × findsUnit
	storedNone   = 65535
)

// Confidence classes of a cell's height.
const (
	confUnknown = 0 // no stream is known for it
	confDrained = 1 // measured along the water's way
	confAcross  = 2 // its water leaves the map first: measured from the nearest stream across the land
	confOutside = 3 // outside the area; never judged
)

// judgement is what is known of each cell after the streams are measured from.
type judgement struct {
	bottom *raster.Plane[uint16] // bottomland probability
	height *raster.Plane[uint16] // above the nearest stream of any size
	ratio  *raster.Plane[uint16] // relative height: geometric mean over the sizes; nil = not wanted
	brook  *raster.Plane[uint16] // relative height above streams of any size; nil = not wanted
	far    *raster.Plane[uint16] // distance to the stream of the smallest size reached; nil = not wanted
	sizes  []float64             // km², those the map holds
	absent []float64             // and those it does not
	counts [3]int64              // cells by confidence, inside the area
	route  terrain.RouteStats
	// coverless counts the cells inside the area whose land cover is not known.
	coverless int64

	kept [256]int64 // cells that reach the threshold and lie on keep-out ground, by reason

	// Cells that may join a patch, in groups by the reach they drain to, and
	// the cells near them that never may.
	runs, forbidden []region.Run
}

func (j *judgement) close() {
	j.bottom.Close()
	j.height.Close()
	j.ratio.Close()
	j.brook.Close()
	j.far.Close()
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
// Cells whose suitability reaches threshold are listed for the shortlist.
func judge(ctx context.Context, g *ground, w *water, p *Profile, curve Bankfull, worth *appraisal, threshold float64, o runOptions) (*judgement, error) {
	f := g.frame
	j := &judgement{route: w.routing.Stats}
	var err error
	if j.bottom, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if j.height, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if o.terms {
		for _, p := range []**raster.Plane[uint16]{&j.ratio, &j.brook, &j.far} {
			if *p, err = raster.NewPlane[uint16](f.W, f.H, o.scratch); err != nil {
				return nil, err
			}
		}
	}
	b := &p.Bottomland
	st := &terrain.Streams{Burn: g.burn, Area: w.area, Sizes: append([]float64{0}, b.SizesKm2...)}
	if g.burn == nil {
		st.Threshold = o.thresholdKm2
	}
	depthA, depthB := curve.Metric()
	workers := make([]cellJudge, max(1, o.workers))
	for i := range workers {
		workers[i].worth = worth.reader()
	}
	runs, forbidden := make([][]region.Run, w.routing.Tiles.N()), make([][]region.Run, w.routing.Tiles.N())
	err = terrain.Heights(ctx, st, w.routing, g.z, o.terrain("measuring heights"), func(worker int, v *terrain.View) error {
		c := &workers[worker]
		c.model, c.cell, c.mapW, c.wantTerms = b, f.Cell, f.W, o.terms
		c.a, c.b = depthA, depthB
		if err := c.tile(v, g); err != nil {
			return err
		}
		t := v.Tile
		var err error
		if runs[t.Index], forbidden[t.Index], err = c.candidates(v, g, float32(threshold)); err != nil {
			return err
		}
		if err := j.bottom.Write(t.X, t.Y, t.W, t.H, c.bottom); err != nil {
			return err
		}
		if err := j.height.Write(t.X, t.Y, t.W, t.H, c.height); err != nil {
			return err
		}
		if err := g.status.Write(t.X, t.Y, t.W, t.H, c.conf); err != nil {
			return err
		}
		if !o.terms {
			return nil
		}
		if err := j.ratio.Write(t.X, t.Y, t.W, t.H, c.ratio); err != nil {
			return err
		}
		if err := j.brook.Write(t.X, t.Y, t.W, t.H, c.brook); err != nil {
			return err
		}
		return j.far.Write(t.X, t.Y, t.W, t.H, c.far)
	})
	if err != nil {
		j.close()
		return nil, err
	}
	j.runs, j.forbidden = joinRuns(runs), joinRuns(forbidden)
	for i := range workers {
		j.coverless += workers[i].coverless
		for k, n := range workers[i].kept {
			j.kept[k] += n
		}
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
