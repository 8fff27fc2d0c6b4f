package results

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rillwood/raster"
)

// mostSide is the most columns or rows a map has: 10,000 km of 10 m cells.
const mostSide = 1 << 20

// Grid is the frame that a run's raster lies on; ok is false for a raster that
// is not north-up with square cells, as runs write them.
func Grid(in raster.Info) (f raster.Frame, ok bool) {
	if !in.NorthUp() || in.Geo[1] != -in.Geo[5] {
		return raster.Frame{}, false
	}
	return raster.Frame{W: in.W, H: in.H, X0: in.Geo[0], Y0: in.Geo[3], Cell: in.Geo[1], WKT: in.CRS.WKT, EPSG: in.CRS.EPSG, Name: in.CRS.Name}, true
}

// readRasters takes the grid of suitability.tif, which must be the one the
// record tells of, and looks which other rasters lie on it.
func (r *Run) readRasters() error {
	path, err := r.file("suitability.tif")
	if err != nil {
		return err
	}
	in, err := raster.Describe(path, "")
	if err != nil {
		if _, gone := os.Stat(path); errors.Is(gone, os.ErrNotExist) {
			return fmt.Errorf("%q is missing; the folder holds no finished run", path)
		}
		return err
	}
	f, ok := Grid(in)
	if !ok || !in.CRS.Projected || in.CRS.Unit != 1 || in.W > mostSide || in.H > mostSide {
		return errors.New("suitability.tif is not a grid that a map writes; make the map again")
	}
	if how := r.frame.differs(f.W, f.H, f.EPSG, f.X0, f.Y0, f.Cell); how != "" {
		return fmt.Errorf("suitability.tif %s; they are not of one run: make the map again", how)
	}
	r.Frame = f
	r.Layers = []string{"suitability"}
	if r.there("relief.tif") {
		r.takeLayer("relief")
	}
	for _, o := range r.outputs {
		name, layer := strings.CutPrefix(o, "layers/")
		name, tif := strings.CutSuffix(name, ".tif")
		// suitability and relief lie one folder up.
		if layer && tif && filepath.Base(name) == name && name != "suitability" && name != "relief" && r.there(o) {
			r.takeLayer(name)
		}
	}
	slices.Sort(r.Layers)
	r.Layers = slices.Compact(r.Layers)
	if !r.Has("relief") {
		r.note("no relief.tif: pictures are drawn without relief; make the map again with output.report true")
	}
	return nil
}

// takeLayer takes a raster that lies on the frame; another is a note.
func (r *Run) takeLayer(name string) {
	path, err := r.layer(name)
	if err != nil {
		r.note("not shown: %v", err)
		return
	}
	in, err := raster.Describe(path, "")
	if err != nil {
		r.note("not shown: %v", err)
		return
	}
	g, ok := Grid(in)
	if f := r.Frame; !ok || g.W != f.W || g.H != f.H || g.X0 != f.X0 || g.Y0 != f.Y0 || g.Cell != f.Cell || !raster.SameCRS(g.WKT, f.WKT) {
		r.note("not shown: %q lies on another grid than suitability.tif", slashed(name))
		return
	}
	r.Layers = append(r.Layers, name)
}

// Has tells whether the run holds a raster, by its name without ending.
func (r *Run) Has(layer string) bool { return slices.Contains(r.Layers, layer) }

// layer is the path of a raster of the run.
func (r *Run) layer(name string) (string, error) { return r.file(slashed(name)) }

func slashed(layer string) string {
	if layer == "suitability" || layer == "relief" {
		return layer + ".tif"
	}
	return "layers/" + layer + ".tif"
}
