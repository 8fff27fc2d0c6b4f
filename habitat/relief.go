package habitat

import (
	"context"
	"math"
	"sync"

	"rillwood/habitat/picture"
	"rillwood/raster"
)

const reliefName = "relief.tif"

// reliefSteps is how many steps of light a relief has: stored 1 is full
// shade, 1 + reliefSteps full light, 0 no ground.
const reliefSteps = 254

// overview is the map averaged down for pictures: k×k cells in one.
type overview struct {
	k, w, h     int
	elevation   []float32 // metres, NaN = none
	suitability []float32 // NaN = none
}

// overview averages elevation and suitability down to at most previewSide
// cells a side, once a run.
func (p *publication) overview() (*overview, error) {
	p.seen.once.Do(func() {
		w := p.ground.window
		k := max(1, (max(w.W, w.H)+previewSide-1)/previewSide)
		o := &overview{k: k, w: (w.W + k - 1) / k, h: (w.H + k - 1) / k}
		o.elevation, o.suitability = make([]float32, o.w*o.h), make([]float32, o.w*o.h)
		p.seen.view, p.seen.err = o, p.decimate(k, o.w, o.elevation, o.suitability)
	})
	return p.seen.view, p.seen.err
}

type overviewOnce struct {
	once sync.Once
	view *overview
	err  error
}

// relief writes how the ground lies in the light, for pages that have no
// elevation: as the preview shades it, but cell by cell.
func (p *publication) relief(ctx context.Context, path string) error {
	view, err := p.overview()
	if err != nil {
		return err
	}
	stretch := picture.Exaggeration(view.elevation, view.w, view.h, p.frame().Cell*float64(view.k))
	none := 0.0
	o := p.tags("shaded relief under four lamps: 1 full shade, 255 full light", "light")
	o.NoData = &none
	w, whole := p.ground.window, p.ground.frame
	return raster.WriteCOG(ctx, path, p.frame(), o, func(y, n int, dst []uint8) error {
		// A rim of one cell, where there is ground beyond, so that no seam shows.
		top, left := min(1, w.Y+y), min(1, w.X)
		bottom, right := min(1, whole.H-(w.Y+y+n)), min(1, whole.W-(w.X+w.W))
		cols, rows := left+w.W+right, top+n+bottom
		z := make([]float32, cols*rows)
		if err := p.ground.z.Read(w.X-left, w.Y+y-top, cols, rows, z); err != nil {
			return err
		}
		light := picture.Hillshade(z, cols, rows, whole.Cell, stretch)
		for r := range n {
			for x := range w.W {
				v := light[(top+r)*cols+left+x]
				dst[r*w.W+x] = 0
				if v == v {
					dst[r*w.W+x] = uint8(1 + math.Round(float64(v)*reliefSteps))
				}
			}
		}
		return nil
	})
}
