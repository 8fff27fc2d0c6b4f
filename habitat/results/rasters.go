package results

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/vector"
)

// webMercator is the plane that web maps are drawn in (EPSG:3857).
const webMercator = 3857

// Overview is the whole map warped to Web Mercator, with at most side cells a
// side; averages of what lies under each cell.
func (r *Run) Overview(ctx context.Context, side int) (*Ground, error) {
	crs, err := raster.ParseCRS(fmt.Sprintf("EPSG:%d", webMercator))
	if err != nil {
		return nil, err
	}
	t, err := vector.NewTransformer(r.Frame.WKT, crs.WKT)
	if err != nil {
		return nil, err
	}
	w, s, e, n := r.Frame.Bounds()
	b, err := t.Bounds([4]float64{w, s, e, n})
	if err != nil {
		return nil, err
	}
	// Web Mercator stretches ground by the secant of the latitude.
	wide, high := b[2]-b[0], b[3]-b[1]
	stretch := math.Sqrt(wide * high / ((e - w) * (n - s)))
	cell := max(r.Frame.Cell*stretch, max(wide, high)/float64(side))
	f := raster.Frame{W: max(1, int(math.Ceil(wide/cell-1e-9))), H: max(1, int(math.Ceil(high/cell-1e-9))), X0: b[0], Y0: b[3], Cell: cell, WKT: crs.WKT, EPSG: crs.EPSG, Name: crs.Name}
	return r.land(ctx, f)
}

// Crop is the cells of the frame that meet a bound (frame's grid, metres);
// nil when there is none.
func (r *Run) Crop(ctx context.Context, b orb.Bound) (*Ground, error) {
	x0, y0, x1, y1 := r.cells(b)
	if x0 >= x1 || y0 >= y1 {
		return nil, nil
	}
	return r.land(ctx, r.Frame.Cut(x0, y0, x1-x0, y1-y0))
}

// cells is the window of the frame that a bound meets.
func (r *Run) cells(b orb.Bound) (x0, y0, x1, y1 int) {
	f := r.Frame
	clamp := func(v float64, most int) int { return int(min(max(v, 0), float64(most))) }
	return clamp(math.Floor((b.Min[0]-f.X0)/f.Cell), f.W), clamp(math.Floor((f.Y0-b.Max[1])/f.Cell), f.H),
		clamp(math.Ceil((b.Max[0]-f.X0)/f.Cell), f.W), clamp(math.Ceil((f.Y0-b.Min[1])/f.Cell), f.H)
}

// land reads suitability and relief onto a frame.
func (r *Run) land(ctx context.Context, f raster.Frame) (*Ground, error) {
	w, s, e, n := f.Bounds()
	g := &Ground{W: f.W, H: f.H, Frame: f, Bound: orb.Bound{Min: orb.Point{w, s}, Max: orb.Point{e, n}}}
	var err error
	if g.Suitability, err = r.read(ctx, "suitability", f, 1); err != nil {
		return nil, err
	}
	for i, v := range g.Suitability {
		g.Suitability[i] = min(max(v, 0), 1) // NaN stays
	}
	if r.Has("relief") {
		// Stored 1 to 255, full shade to full light.
		if g.Relief, err = r.read(ctx, "relief", f, 1.0/254); err != nil {
			return nil, err
		}
		for i, v := range g.Relief {
			g.Relief[i] = min(max(v-1.0/254, 0), 1)
		}
	}
	return g, nil
}

func (r *Run) read(ctx context.Context, layer string, f raster.Frame, factor float64) ([]float32, error) {
	plane, err := raster.NewPlane[float32](f.W, f.H, nil)
	if err != nil {
		return nil, err
	}
	_, err = raster.ReadSurface(ctx, raster.Source{Paths: []string{r.layer(layer)}}, f, factor, 1, plane, func(float64) {})
	if err != nil {
		return nil, err
	}
	return plane.Mem(), nil
}

// Histogram counts the ground by suitability in n equal bins from 0 to 1, in
// hectares; what was not mapped is left out.
func (r *Run) Histogram(ctx context.Context, n int) ([]Bin, error) {
	const band = 512
	counts := make([]int64, n)
	for y := 0; y < r.Frame.H; y += band {
		v, err := r.read(ctx, "suitability", r.Frame.Cut(0, y, r.Frame.W, min(band, r.Frame.H-y)), 1)
		if err != nil {
			return nil, err
		}
		for _, s := range v {
			if s == s {
				counts[int(min(max(s*float32(n), 0), float32(n-1)))]++
			}
		}
	}
	bins := make([]Bin, n)
	for i, c := range counts {
		bins[i] = Bin{float64(i) / float64(n), float64(i+1) / float64(n), float64(c) * r.Frame.CellHa()}
	}
	return bins, nil
}

// AccessAreas traces who may enter, inside a bound (frame's grid, metres), in
// the order open, permit, private, closed; none when the run has no access
// layer. Ground of unknown status is left out.
func (r *Run) AccessAreas(ctx context.Context, b orb.Bound) ([]AccessArea, error) {
	x0, y0, x1, y1 := r.cells(b)
	if !r.Has("access") || x0 >= x1 || y0 >= y1 {
		return nil, nil
	}
	f := r.Frame.Cut(x0, y0, x1-x0, y1-y0)
	plane, err := raster.NewPlane[uint8](f.W, f.H, nil)
	if err != nil {
		return nil, err
	}
	var same [65536]uint8
	for i := range same {
		same[i] = uint8(min(i, 255))
	}
	if _, _, err := raster.ReadClasses(ctx, raster.Source{Paths: []string{r.layer("access")}}, f, &same, 255, 1, plane, func(float64) {}); err != nil {
		return nil, err
	}
	to, err := vector.ToWGS84(f.WKT)
	if err != nil {
		return nil, err
	}
	var out []AccessArea
	kinds := []access.Status{access.Open, access.Permit, access.Private, access.Closed}
	topo := region.Trace(statusPatches(plane.Mem(), f, kinds))
	topo.Simplify(1)
	for i, kind := range kinds {
		shape := topo.Polygons(i)
		if len(shape) == 0 {
			continue
		}
		for _, poly := range shape {
			for _, ring := range poly {
				for k, p := range ring {
					e, n := f.Corner(p[0], p[1])
					ring[k] = orb.Point{e, n}
				}
			}
		}
		moved, err := to.Geometry(shape)
		if err != nil {
			return nil, err
		}
		out = append(out, AccessArea{kind.String(), moved.(orb.MultiPolygon)})
	}
	return out, nil
}

// statusPatches makes a patch of all cells of each status, in the order of
// kinds.
func statusPatches(cells []uint8, f raster.Frame, kinds []access.Status) []region.Patch {
	patches := make([]region.Patch, len(kinds))
	var of [256]int
	for i := range of {
		of[i] = -1
	}
	for i, k := range kinds {
		patches[i].ID, of[k] = i, i
	}
	for y := range f.H {
		row := cells[y*f.W : (y+1)*f.W]
		for x := 0; x < f.W; {
			end := x + 1
			for end < f.W && row[end] == row[x] {
				end++
			}
			if i := of[row[x]]; i >= 0 {
				patches[i].Runs = append(patches[i].Runs, region.Run{Y: int32(y), X0: int32(x), X1: int32(end)})
			}
			x = end
		}
	}
	return patches
}
