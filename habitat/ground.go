package habitat

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/habitat/evidence"
	"rillwood/habitat/inventory"
	"rillwood/raster"
	"rillwood/raster/terrain"
)

// coverNone marks cells without land cover on the cover plane.
const coverNone = 255

// ground is everything a run reads, on its frame.
type ground struct {
	frame   raster.Frame
	z       *raster.Plane[float32] // m, NaN = none
	cover   *raster.Plane[uint8]   // place of the class in the legend, coverNone = none; nil = no land cover
	burn    *raster.Plane[uint8]   // burn classes along mapped streams; nil = not mapped
	network *Network               // nil until channels are derived, where none are mapped
	// status is confOutside outside the area; inside it is confUnknown until the
	// cell is judged, then its confidence.
	status  *raster.Plane[uint8]
	minHole int               // cells: smaller holes of patches are filled
	outline orb.Geometry      // of the area, frame CRS; nil = none
	window  raster.Tile       // what is written: the area's box in the frame
	landed  map[string]string // how each layer came onto the frame

	// Further layers; nil where the survey names none.
	items    []evidence.Item
	evidence *raster.Plane[int8] // what the items say together, in steps of 1/evidence.ShiftUnit
	shifts   evidence.Stats
	flatness *raster.Plane[uint8]
	measured []inventory.Measured
	access   *access.Land
	keepOut  *access.KeepOut
}

func (g *ground) close() {
	g.z.Close()
	g.cover.Close()
	g.burn.Close()
	g.status.Close()
	g.evidence.Close()
	g.flatness.Close()
	for _, i := range g.items {
		i.Plane.Close()
	}
	inventory.Close(g.measured)
	if g.access != nil {
		g.access.Status.Close()
	}
	if g.keepOut != nil {
		g.keepOut.Plane.Close()
	}
}

// burnReach is how far, in cells, the ground leans towards a mapped stream,
// and burnLeanM by how much: enough to bring a valley line of the elevation
// and a mapped line that was drawn beside it together, too little to turn
// water over a divide. Common practice, no source.
const (
	burnReach = 3
	burnLeanM = 2
)

// A hollow at least breachDepthM deep, with no mapped stream around, is cut
// through when lower ground lies within breachReachM and cutting costs no more
// than filling: road and rail banks over brooks that no one mapped. The cap on
// what is cut is breachCutM metres a cell of the way. Only routing sees the
// cuts. Common practice, no source.
const (
	breachDepthM = 1
	breachReachM = 60
	breachCutM   = 4
)

func breachRule(cell float64) *terrain.BreachRule {
	steps := min(max(int(math.Ceil(breachReachM/cell)), 2), 40)
	return &terrain.BreachRule{Depth: breachDepthM, Limit: terrain.BreachLimit{Steps: steps, Cost: breachCutM * float64(steps)}}
}

// readGround lands the layers on the frame.
func readGround(ctx context.Context, in *Inputs, o runOptions) (*ground, error) {
	f := in.Frame
	g := &ground{frame: f, landed: map[string]string{}, window: raster.Tile{W: f.W, H: f.H}, minHole: cellsOf(in.Survey.Shortlist.HoleHa, f)}
	ok := false
	defer func() {
		if !ok {
			g.close()
		}
	}()
	var err error
	if g.z, err = raster.NewPlane[float32](f.W, f.H, o.scratch); err != nil {
		return nil, err
	}
	if g.landed["elevation"], err = in.readElevation(ctx, f, o.workers, g.z, o.stage("reading elevation")); err != nil {
		return nil, err
	}
	if in.Cover != nil {
		if g.cover, err = raster.NewPlane[uint8](f.W, f.H, o.scratch.Cold()); err != nil {
			return nil, err
		}
		how, counts, err := raster.ReadClasses(ctx, in.landcover, f, &in.Cover.index, coverNone, o.workers, g.cover, o.stage("reading land cover"))
		if err != nil {
			return nil, fmt.Errorf("land cover: %w", err)
		}
		g.landed["land cover"] = how
		if err := in.Cover.settle(in.LandCover[0].Path, counts); err != nil {
			return nil, err
		}
	}
	if g.status, err = raster.NewPlane[uint8](f.W, f.H, o.scratch.Cold()); err != nil {
		return nil, err
	}
	if in.Area != nil {
		if err := g.limit(ctx, in.Area, o); err != nil {
			return nil, err
		}
	}
	if len(in.Survey.Streams.Path) > 0 {
		done := o.stage("reading streams")
		if g.network, err = readStreams(ctx, in.Survey.Streams, f, g.heightAt, in.Profile.OrderArea); err != nil {
			return nil, err
		}
		if g.burn, err = raster.NewPlane[uint8](f.W, f.H, o.scratch); err != nil {
			return nil, err
		}
		if err := terrain.BurnStreams(g.burn, g.network.Cells, burnReach); err != nil {
			return nil, err
		}
		if err := terrain.BurnEntrances(g.burn, g.network.Doors); err != nil {
			return nil, err
		}
		done(1)
	}
	if err := g.readLayers(ctx, in, o); err != nil {
		return nil, err
	}
	ok = true
	return g, nil
}

// heightAt is the elevation of a cell, NaN where there is none or it cannot be read.
func (g *ground) heightAt(cell int) float64 {
	var z [1]float32
	if err := g.z.Read(cell%g.frame.W, cell/g.frame.W, 1, 1, z[:]); err != nil {
		return math.NaN()
	}
	return float64(z[0])
}

// span gives the lowest and highest ground, where the profile asks for it.
func (g *ground) span(ctx context.Context, p *Profile) (low, high float64, err error) {
	if !p.HasElevation() {
		return 0, 0, nil
	}
	low, high = math.Inf(1), math.Inf(-1)
	row := make([]float32, g.frame.W)
	for y := range g.frame.H {
		if err := ctx.Err(); err != nil {
			return 0, 0, err
		}
		z, err := g.z.Row(0, y, g.frame.W, row)
		if err != nil {
			return 0, 0, err
		}
		for _, v := range z {
			if v == v {
				low, high = min(low, float64(v)), max(high, float64(v))
			}
		}
	}
	return low, high, nil
}

// water is where water goes on the ground.
type water struct {
	routing *terrain.Routing
	area    *raster.Plane[float32] // km²
}

func (w *water) close() {
	w.routing.Dir.Close()
	w.area.Close()
}

// drain routes water and counts what each cell drains; where no streams are
// mapped it also derives them.
func drain(ctx context.Context, g *ground, s *Survey, o runOptions) (*water, error) {
	var in []terrain.Inflow
	if g.network != nil {
		in = g.network.Inflows
	}
	w, err := drained(ctx, g, in, o)
	if err != nil {
		return nil, err
	}
	if g.network == nil {
		if g.network, err = deriveStreams(ctx, w.routing, w.area, s.Streams.ThresholdKm2, g.frame); err != nil {
			w.close()
			return nil, naming(err, "streams.threshold_km2", s.Elevation.Path[0])
		}
	}
	return w, nil
}
