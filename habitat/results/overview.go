package results

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// webMercator is the plane that web maps are drawn in (EPSG:3857).
const webMercator = 3857

// mostOverview is the most cells an overview has a side.
const mostOverview = 8192

// Overview is the whole map warped to Web Mercator, with at most side cells on
// its longer side and about the map's own cells at the finest. Each cell is the
// mean of what lies under it; suitability and relief lie on the same grid.
func (r *Run) Overview(ctx context.Context, side int) (*Ground, error) {
	f, err := r.overviewFrame(min(max(side, 1), mostOverview))
	if err != nil {
		return nil, err
	}
	return r.land(ctx, f)
}

func (r *Run) overviewFrame(side int) (raster.Frame, error) {
	crs, err := raster.ParseCRS(fmt.Sprintf("EPSG:%d", webMercator))
	if err != nil {
		return raster.Frame{}, err
	}
	t, err := vector.NewTransformer(r.Frame.WKT, crs.WKT)
	if err != nil {
		return raster.Frame{}, err
	}
	w, s, e, n := r.Frame.Bounds()
	b, err := t.Bounds([4]float64{w, s, e, n})
	if err != nil {
		return raster.Frame{}, err
	}
	// Web Mercator stretches ground by the secant of the latitude.
	wide, high := b[2]-b[0], b[3]-b[1]
	stretch := math.Sqrt(wide * high / ((e - w) * (n - s)))
	cell := max(r.Frame.Cell*stretch, max(wide, high)/float64(side))
	if !(cell > 0 && cell < math.MaxFloat64) {
		return raster.Frame{}, errors.New("suitability.tif does not lie on ground that a web map shows")
	}
	across := func(d float64) int { return max(1, int(math.Ceil(d/cell-1e-9))) }
	return raster.Frame{W: across(wide), H: across(high), X0: b[0], Y0: b[3], Cell: cell, WKT: crs.WKT, EPSG: crs.EPSG, Name: crs.Name}, nil
}

// land reads suitability and relief onto a frame.
func (r *Run) land(ctx context.Context, f raster.Frame) (*Ground, error) {
	w, s, e, n := f.Bounds()
	g := &Ground{W: f.W, H: f.H, Frame: f, Bound: orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}}}
	var err error
	if g.Suitability, err = r.suitability(ctx, f, workers()); err != nil {
		return nil, err
	}
	if !r.Has("relief") {
		return g, nil
	}
	// Stored 0 none, 1 to 255 full shade to full light.
	none := 0.0
	if g.Relief, err = r.surface(ctx, "relief", f, raster.Source{NoData: &none}, workers()); err != nil {
		return nil, err
	}
	for i, v := range g.Relief {
		g.Relief[i] = min(max((v-1)/254, 0), 1) // NaN stays
	}
	return g, nil
}

// suitability reads it onto a frame: 0 to 1, NaN where nothing was mapped.
func (r *Run) suitability(ctx context.Context, f raster.Frame, workers int) ([]float32, error) {
	v, err := r.surface(ctx, "suitability", f, raster.Source{}, workers)
	for i, s := range v {
		// Means of ones may come out a hair above 1; what is farther off is no
		// suitability.
		if s < -1e-4 || s > 1+1e-4 {
			v[i] = float32(math.NaN())
			continue
		}
		v[i] = min(max(s, 0), 1)
	}
	return v, err
}

// surface lands a raster of the run on a frame.
func (r *Run) surface(ctx context.Context, layer string, f raster.Frame, s raster.Source, workers int) ([]float32, error) {
	path, err := r.layer(layer)
	if err != nil {
		return nil, err
	}
	plane, err := raster.NewPlane[float32](f.W, f.H, nil)
	if err != nil {
		return nil, err
	}
	s.Paths, s.Overviews = []string{path}, true
	if _, err := raster.ReadSurface(ctx, s, f, 1, workers, plane, func(float64) {}); err != nil {
		return nil, err
	}
	return plane.Mem(), nil
}
