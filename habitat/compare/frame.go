package compare

import (
	"fmt"
	"math"

	"rillwood/habitat/results"
	"rillwood/raster"
)

// frame is the grid a run's results lie on: that of its suitability raster,
// or what the record says where there is none.
func (r *Run) frame() (raster.Frame, error) {
	if r.info != nil {
		if f, ok := results.Grid(*r.info); ok {
			return f, nil
		}
	}
	f := r.record.Frame
	fault := func(what string) error {
		return fmt.Errorf("run %s: no suitability raster, and frame.%s of run.json is of no use, so its candidates cannot be laid on a grid; make the map again", r.Label, what)
	}
	if f.EPSG == 0 {
		return raster.Frame{}, fault("epsg")
	}
	if !(f.Cell > 0 && f.Cell < 1e5) {
		return raster.Frame{}, fault("cell_m")
	}
	crs, err := raster.ParseCRS(fmt.Sprintf("EPSG:%d", f.EPSG))
	if err != nil || !crs.Projected {
		return raster.Frame{}, fault("epsg")
	}
	if f.Window[2] < 1 || f.Window[3] < 1 {
		return raster.Frame{}, fault("written_window")
	}
	whole := raster.Frame{W: f.Cols, H: f.Rows, X0: f.West, Y0: f.North, Cell: f.Cell, WKT: crs.WKT, EPSG: f.EPSG, Name: crs.Name}
	return whole.Cut(f.Window[0], f.Window[1], f.Window[2], f.Window[3]), nil
}

// common is the part of a's grid that b's covers cell by cell. ok is false,
// and why says it, where the cells do not lie on each other.
func common(a, b raster.Frame) (f raster.Frame, why string, ok bool) {
	switch {
	case !raster.SameCRS(a.WKT, b.WKT):
		return f, fmt.Sprintf("the maps lie in two coordinate systems (%s, %s): only candidates are compared", a.Name, b.Name), false
	case a.Cell != b.Cell:
		return f, fmt.Sprintf("the maps have cells of %g m and %g m: only candidates are compared", a.Cell, b.Cell), false
	}
	dx, dy := (b.X0-a.X0)/a.Cell, (a.Y0-b.Y0)/a.Cell
	if math.Abs(dx-math.Round(dx)) > 1e-4 || math.Abs(dy-math.Round(dy)) > 1e-4 {
		return f, "the cells of the maps lie beside each other, not on each other: only candidates are compared", false
	}
	if math.Abs(dx) > 1e9 || math.Abs(dy) > 1e9 {
		return f, "the maps share no ground", false
	}
	x, y := int(math.Round(dx)), int(math.Round(dy))
	x0, y0, x1, y1 := max(0, x), max(0, y), min(a.W, x+b.W), min(a.H, y+b.H)
	if x0 >= x1 || y0 >= y1 {
		return f, "the maps share no ground", false
	}
	if x != 0 || y != 0 || a.W != b.W || a.H != b.H {
		why = "the maps cover different ground: suitability is compared where both lie"
	}
	return a.Cut(x0, y0, x1-x0, y1-y0), why, true
}
