package results

import (
	"context"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/raster"
	"rillwood/raster/region"
	"rillwood/vector"
)

// mostTraced is the most cells that areas are traced on; a larger piece is
// traced on larger cells.
const mostTraced = 1 << 22

// AccessAreas traces who may enter, inside a bound (frame's grid, metres), in
// the order open, permit, private, closed; none when the run has no access
// layer. Ground of unknown status is left out. Outlines are those of cells,
// straightened within 0.71 cells, and valid. Where a piece of more than 4
// million cells is traced on larger ones, each takes the most cautious status
// that lies in it, so that no closed ground is drawn as open.
func (r *Run) AccessAreas(ctx context.Context, b orb.Bound) ([]AccessArea, error) {
	f, ok := r.window(b)
	if !ok || !r.Has("access") {
		return nil, nil
	}
	return r.accessAreas(ctx, f, mostTraced)
}

func (r *Run) accessAreas(ctx context.Context, f raster.Frame, most int) ([]AccessArea, error) {
	levels, f, err := r.cautious(ctx, f, most)
	if err != nil {
		return nil, err
	}
	to, err := vector.ToWGS84(f.WKT)
	if err != nil {
		return nil, err
	}
	kinds := []access.Status{access.Open, access.Permit, access.Private, access.Closed}
	topo := region.Trace(statusPatches(levels, f, kinds))
	topo.Simplify(0.5)
	var out []AccessArea
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

// level is how cautious a status is, 1 or more; 0 is no ground.
func level(s access.Status) uint8 {
	order := access.ByCaution()
	for i, t := range order {
		if s == t {
			return uint8(len(order) - i)
		}
	}
	return 0
}

// cautious reads the access layer as levels of caution, on cells so many times
// as wide that no more than most are left. The last ones may reach beyond the
// frame.
func (r *Run) cautious(ctx context.Context, f raster.Frame, most int) ([]uint8, raster.Frame, error) {
	path, err := r.layer("access")
	if err != nil {
		return nil, f, err
	}
	var index [65536]uint8
	for _, s := range access.ByCaution() {
		index[s] = level(s)
	}
	k := 1
	for ((f.W+k-1)/k)*((f.H+k-1)/k) > most {
		k++
	}
	out := f
	out.W, out.H, out.Cell = (f.W+k-1)/k, (f.H+k-1)/k, f.Cell*float64(k)
	levels := make([]uint8, out.W*out.H)
	rows := k * max(1, min(bandRows, mostBand/f.W)/k) // whole rows of the larger cells
	bands := (f.H + rows - 1) / rows
	err = raster.Parallel(ctx, workers(), bands, func(_, band int) error {
		y := band * rows
		h := min(rows, f.H-y)
		plane, err := raster.NewPlane[uint8](f.W, h, nil)
		if err != nil {
			return err
		}
		if _, _, err := raster.ReadClasses(ctx, raster.Source{Paths: []string{path}}, f.Cut(0, y, f.W, h), &index, 0, 1, plane, func(float64) {}); err != nil {
			return err
		}
		for i, v := range plane.Mem() {
			at := &levels[(y+i/f.W)/k*out.W+i%f.W/k]
			*at = max(*at, v)
		}
		return nil
	})
	return levels, out, err
}

// statusPatches makes a patch of all cells of each status, in the order of
// kinds.
func statusPatches(levels []uint8, f raster.Frame, kinds []access.Status) []region.Patch {
	patches := make([]region.Patch, len(kinds))
	var of [256]int
	for i := range of {
		of[i] = -1
	}
	for i, k := range kinds {
		patches[i].ID, of[level(k)] = i, i
	}
	for y := range f.H {
		row := levels[y*f.W : (y+1)*f.W]
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
