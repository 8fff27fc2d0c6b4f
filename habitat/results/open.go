package results

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// Open reads a run's folder. A run record, shortlist, file of ways or
// suitability raster that is damaged or of another run, or missing where the
// run wrote it, is an error of one line; what else is missing is a note.
func Open(folder string) (*Run, error) {
	abs, err := raster.LocalPath(folder, true)
	if err != nil {
		return nil, fmt.Errorf("run: %w; name the folder that a map was written into", err)
	}
	r := &Run{Folder: abs}
	for _, step := range []func() error{r.readRecord, r.readRasters, r.readShortlist, r.place, r.readWays} {
		if err := step(); err != nil {
			return nil, fmt.Errorf("run %q: %w", folder, err)
		}
	}
	r.readStreams()
	return r, nil
}

// place puts the places of the candidates into the frame's grid. They must
// lie on the map: a ring that reaches round the world would make every page of
// it endless.
func (r *Run) place() error {
	to, err := vector.FromWGS84(r.Frame.WKT)
	if err != nil {
		return err
	}
	w, s, e, n := r.Frame.Bounds()
	if across, err := Across(r.Frame); err != nil {
		return fmt.Errorf("suitability.tif: %w", err)
	} else if across {
		return errAcross
	}
	area, err := r.mapped([4]float64{w, s, e, n})
	if err != nil {
		return fmt.Errorf("suitability.tif: %w", err)
	}
	for i := range r.Candidates {
		c := &r.Candidates[i]
		p, err := to.Point(orb.Point{c.Lon, c.Lat})
		if err != nil {
			return fmt.Errorf("shortlist.geojson: candidate %d: %w", c.Rank, err)
		}
		c.East, c.North = p[0], p[1]
		near := r.Frame.Cell // places are written to a decimetre
		if !(p[0] > w-near && p[0] < e+near && p[1] > s-near && p[1] < n+near) || !within(c.Shape.Bound(), area) {
			return fmt.Errorf("shortlist.geojson: candidate %d lies outside suitability.tif; they are not of one run: make the map again", c.Rank)
		}
		if c.Walk == nil || !c.Walk.OK {
			continue
		}
		if p, err = to.Point(orb.Point{c.Walk.EntryLon, c.Walk.EntryLat}); err != nil {
			return fmt.Errorf("shortlist.geojson: candidate %d, entry: %w", c.Rank, err)
		}
		c.Walk.EntryEast, c.Walk.EntryNorth = p[0], p[1]
	}
	return nil
}

var errAcross = errors.New("the map crosses the 180th meridian, which neither page nor sheets nor pack can show; its rasters and shortlist.geojson hold all there is")

// Across tells whether a grid crosses the 180th meridian: its outline then
// jumps from one end of the longitudes to the other. Page, sheets and pack are
// made for maps that do not.
func Across(f raster.Frame) (bool, error) {
	back, err := vector.ToWGS84(f.WKT)
	if err != nil {
		return false, err
	}
	w, s, e, n := f.Bounds()
	b, err := back.Bounds([4]float64{w, s, e, n})
	return b[2]-b[0] > 180, err
}

// mapped is the box of the map in longitude and latitude, a little wider:
// sides bend, and outlines run half a cell beside the cells.
func (r *Run) mapped(wsen [4]float64) (orb.Bound, error) {
	back, err := vector.ToWGS84(r.Frame.WKT)
	if err != nil {
		return orb.Bound{}, err
	}
	by := 2*r.Frame.Cell + 0.01*math.Max(wsen[2]-wsen[0], wsen[3]-wsen[1])
	b, err := back.Bounds([4]float64{wsen[0] - by, wsen[1] - by, wsen[2] + by, wsen[3] + by})
	return orb.Bound{Min: orb.Point{b[0], b[1]}, Max: orb.Point{b[2], b[3]}}, err
}

func within(b, in orb.Bound) bool { return in.Contains(b.Min) && in.Contains(b.Max) }
