package results

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Open reads a run's folder. A run record, shortlist or suitability raster
// that is missing, damaged or of another run is an error of one line; what
// else is missing is a note.
func Open(folder string) (*Run, error) {
	abs, err := raster.LocalPath(folder, true)
	if err != nil {
		return nil, fmt.Errorf("run: %w; name the folder that a map was written into", err)
	}
	r := &Run{Folder: abs}
	if err := r.readRecord(filepath.Join(abs, "run.json")); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	if err := r.readFrame(filepath.Join(abs, "suitability.tif")); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	if err := r.readShortlist(filepath.Join(abs, "shortlist.geojson")); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	if err := r.project(); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	if err := r.readWays(filepath.Join(abs, "ways.geojson")); err != nil {
		return nil, fmt.Errorf("run %q: %w", folder, err)
	}
	r.readStreams(filepath.Join(abs, "streams.gpkg"))
	return r, nil
}

// readFrame takes the grid of the suitability raster, which must be the one
// the record tells of.
func (r *Run) readFrame(path string) error {
	in, err := raster.Describe(path, "")
	if err != nil {
		return err
	}
	if !in.NorthUp() || in.Geo[1] != -in.Geo[5] || !in.CRS.Projected {
		return fmt.Errorf("suitability.tif is not a grid that a map writes; make the map again")
	}
	if w := r.window; in.W != w[2] || in.H != w[3] {
		return fmt.Errorf("suitability.tif has %d × %d cells, run.json says %d × %d; they are not of one run: make the map again", in.W, in.H, w[2], w[3])
	}
	r.Frame = raster.Frame{W: in.W, H: in.H, X0: in.Geo[0], Y0: in.Geo[3], Cell: in.Geo[1], WKT: in.CRS.WKT, EPSG: in.CRS.EPSG, Name: in.CRS.Name}
	r.Layers = []string{"suitability"}
	names := []string{"relief"}
	for _, o := range r.outputs {
		name, layer := strings.CutPrefix(o, "layers/")
		name, tif := strings.CutSuffix(name, ".tif")
		if layer && tif && filepath.IsLocal(name) && filepath.Base(name) == name {
			names = append(names, name)
		}
	}
	for _, name := range names {
		in, err := raster.Describe(r.layer(name), "")
		if err != nil {
			if _, gone := os.Stat(r.layer(name)); gone == nil {
				r.Notes = append(r.Notes, fmt.Sprintf("not shown: %v", err))
			}
			continue
		}
		if f := r.Frame; in.W != f.W || in.H != f.H || in.Geo[0] != f.X0 || in.Geo[3] != f.Y0 || in.Geo[1] != f.Cell {
			r.Notes = append(r.Notes, fmt.Sprintf("not shown: %s.tif lies on another grid than suitability.tif", name))
			continue
		}
		r.Layers = append(r.Layers, name)
	}
	slices.Sort(r.Layers)
	if !r.Has("relief") {
		r.Notes = append(r.Notes, "no relief.tif: pictures are drawn without relief; make the map again with output.report true")
	}
	return nil
}

// Has tells whether the run holds a raster, by its name without ending.
func (r *Run) Has(layer string) bool { return slices.Contains(r.Layers, layer) }

// layer is the path of a raster of the run.
func (r *Run) layer(name string) string {
	if name == "suitability" || name == "relief" {
		return filepath.Join(r.Folder, name+".tif")
	}
	return filepath.Join(r.Folder, "layers", name+".tif")
}

// project puts the places of the candidates into the frame's grid.
func (r *Run) project() error {
	t, err := fromWGS84(r.Frame)
	if err != nil {
		return err
	}
	for i := range r.Candidates {
		c := &r.Candidates[i]
		p, err := t.Point(orb.Point{c.Lon, c.Lat})
		if err != nil {
			return fmt.Errorf("candidate %d: %w", c.Rank, err)
		}
		c.East, c.North = p[0], p[1]
		if c.Walk == nil || !c.Walk.OK {
			continue
		}
		if p, err = t.Point(orb.Point{c.Walk.EntryLon, c.Walk.EntryLat}); err != nil {
			return fmt.Errorf("candidate %d, entry: %w", c.Rank, err)
		}
		c.Walk.EntryEast, c.Walk.EntryNorth = p[0], p[1]
	}
	return nil
}
