package habitat

import (
	"context"
	"fmt"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// limit marks the cells outside the area and finds the window that is written.
func (g *ground) limit(ctx context.Context, area orb.Geometry, o runOptions) error {
	f := g.frame
	g.outline = area
	if err := g.status.Fill(ctx, confOutside); err != nil {
		return err
	}
	n, err := vector.FillPolygons(f, []orb.Geometry{area}, confUnknown, g.status)
	if err != nil {
		return fmt.Errorf("area: %w", err)
	}
	if n == 0 {
		return errNoCell()
	}
	b := area.Bound()
	x0, y0, _ := f.At(b.Min[0], b.Max[1])
	x1, y1, _ := f.At(b.Max[0], b.Min[1])
	x0, y0 = max(x0, 0), max(y0, 0)
	g.window = raster.Tile{X: x0, Y: y0, W: min(x1, f.W-1) - x0 + 1, H: min(y1, f.H-1) - y0 + 1}
	return nil
}

func errNoCell() error {
	return wrong("area", "covers no cell of the elevation; check its coordinate system, and that it is larger than a cell")
}

// coversACell refuses an area that holds the middle of no cell, as a run would,
// after a look at the area's own box; a very large one is taken on trust.
func coversACell(area orb.Geometry, f raster.Frame) error {
	const most = 16e6 // cells
	b := area.Bound()
	x0, y0, _ := f.At(b.Min[0], b.Max[1])
	x1, y1, _ := f.At(b.Max[0], b.Min[1])
	x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, f.W-1), min(y1, f.H-1)
	if x1 < x0 || y1 < y0 {
		return errNoCell()
	}
	box := f.Cut(x0, y0, x1-x0+1, y1-y0+1)
	if box.Cells() > most {
		return nil
	}
	plane, err := raster.NewPlane[uint8](box.W, box.H, nil)
	if err != nil {
		return err
	}
	defer plane.Close()
	n, err := vector.FillPolygons(box, []orb.Geometry{area}, 1, plane)
	if err == nil && n == 0 {
		err = errNoCell()
	}
	return err
}
