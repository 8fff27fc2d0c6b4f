package habitat

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/habitat/access"
	"rillwood/habitat/results"
	"rillwood/habitat/walking"
	"rillwood/raster"
	"rillwood/vector"
)

// A day's ground is walked on at most tripCells cells, and read on at most
// tripReadCells.
const (
	tripCells     = 400_000
	tripReadCells = 24_000_000
)

// tripGround is the ground that a day may lead over.
type tripGround struct {
	walking.Ground
	status   []access.Status // the most cautious of each cell; nil = no access layer
	known    []string
	notKnown []string
}

// readTripGround reads the layers of a survey in a window of the run's grid
// (metres, frame CRS) and joins cells until they are few enough. Of cells joined
// into one, any that is barred bars it.
func readTripGround(ctx context.Context, in *Inputs, run *results.Run, box orb.Bound, o runOptions, private bool) (*tripGround, error) {
	fine, k := tripFrames(in.Frame, box)
	in.Frame = fine
	g := &ground{frame: fine, landed: map[string]string{}}
	defer g.close()
	var err error
	if g.z, err = raster.NewPlane[float32](fine.W, fine.H, nil); err != nil {
		return nil, err
	}
	if _, err = in.readElevation(ctx, fine, o.workers, g.z, o.stage("reading elevation")); err != nil {
		return nil, err
	}
	if in.Cover != nil {
		if g.cover, err = raster.NewPlane[uint8](fine.W, fine.H, nil); err != nil {
			return nil, err
		}
		if _, _, err = raster.ReadClasses(ctx, in.landcover, fine, &in.Cover.index, coverNone, o.workers, g.cover, o.stage("reading land cover")); err != nil {
			return nil, fmt.Errorf("land cover: %w", err)
		}
	}
	if err := g.readAccess(ctx, in, o); err != nil {
		return nil, err
	}
	if err := g.readKeepOut(ctx, in, o); err != nil {
		return nil, err
	}
	m := &surveyor{in: in, g: g, legend: in.legend()}
	t := &tripGround{}
	t.Frame = raster.Frame{W: fine.W / k, H: fine.H / k, X0: fine.X0, Y0: fine.Y0, Cell: fine.Cell * float64(k), WKT: fine.WKT, EPSG: fine.EPSG, Name: fine.Name}
	bars, err := m.tripBars(ctx, o, private)
	if err != nil {
		return nil, err
	}
	t.join(g, bars, k)
	if err := t.readStreams(run); err != nil {
		return nil, err
	}
	if spec := in.Survey.Approach; spec.given() {
		if t.Ways, _, err = m.readWays(ctx, spec); err != nil {
			return nil, err
		}
		km := 0.0
		for _, w := range t.Ways {
			for i := 1; i < len(w.Line); i++ {
				km += math.Hypot(w.Line[i][0]-w.Line[i-1][0], w.Line[i][1]-w.Line[i-1][1]) / 1000
			}
		}
		t.known = append(t.known, fmt.Sprintf("%.0f km of paths and roads", km))
	} else {
		t.notKnown = append(t.notKnown, "paths and roads: the survey names none (approach), so all of the way is off the path and no bridge is known")
	}
	t.tellLayers(in)
	return t, nil
}

// tripFrames is the window of the run's grid to read, and how many of its
// cells are joined a side.
func tripFrames(f raster.Frame, box orb.Bound) (fine raster.Frame, join int) {
	clamp := func(v float64, most int) int { return int(min(max(math.Floor(v), 0), float64(most))) }
	x0, x1 := clamp((box.Min[0]-f.X0)/f.Cell, f.W-1), clamp((box.Max[0]-f.X0)/f.Cell, f.W-1)+1
	y0, y1 := clamp((f.Y0-box.Max[1])/f.Cell, f.H-1), clamp((f.Y0-box.Min[1])/f.Cell, f.H-1)+1
	w, h := x1-x0, y1-y0
	r := max(1, int(math.Ceil(math.Sqrt(float64(w)*float64(h)/tripReadCells))))
	k := max(1, int(math.Ceil(math.Sqrt(float64(w)*float64(h)/float64(r*r)/tripCells))))
	k = min(k, max(1, min(w, h)/r)) // a strip keeps a cell
	fine = f.Cut(x0, y0, w, h)
	fine.Cell *= float64(r)
	fine.W, fine.H = max(1, w/r/k)*k, max(1, h/r/k)*k
	return fine, k
}

// tripBars says of each fine cell what bars it.
func (m *surveyor) tripBars(ctx context.Context, o runOptions, private bool) ([]uint8, error) {
	g, f := m.g, m.g.frame
	bars := make([]uint8, f.Cells())
	wet, err := m.openWater(ctx, m.in.Survey.Approach, o)
	if err != nil {
		return nil, err
	}
	defer wet.Close()
	mark := func(plane *raster.Plane[uint8], is func(v uint8) bool, bar uint8) {
		for i, v := range plane.Mem() {
			if is(v) {
				bars[i] |= bar
			}
		}
	}
	if wet != nil {
		mark(wet, func(v uint8) bool { return v != 0 }, walking.Water)
	}
	if g.cover != nil {
		var water [256]bool
		for slot := range water {
			if class, ok := m.legend.Class(uint8(slot)); ok && slot != int(NoClass) {
				water[slot] = class.Group == Water || class.Group == Ice
			}
		}
		mark(g.cover, func(v uint8) bool { return water[v] }, walking.Water)
	}
	if g.access != nil {
		mark(g.access.Status, func(v uint8) bool { return access.Status(v) == access.Closed }, walking.Closed)
		if !private {
			mark(g.access.Status, func(v uint8) bool { return access.Status(v) == access.Private }, walking.Private)
		}
	}
	if g.keepOut != nil {
		mark(g.keepOut.Plane, func(v uint8) bool { return v != 0 }, walking.KeepOut)
	}
	return bars, nil
}

// join makes one cell of k×k: the mean of the heights, every bar, the most
// cautious status.
func (t *tripGround) join(g *ground, bars []uint8, k int) {
	n := t.Frame.Cells()
	t.Height, t.Bars = make([]float32, n), make([]uint8, n)
	level := map[access.Status]int{}
	for i, s := range access.ByCaution() { // the most cautious first
		level[s] = -i
	}
	var status []uint8
	if g.access != nil {
		status = g.access.Status.Mem()
		t.status = make([]access.Status, n)
	}
	z := g.z.Mem()
	for y := range t.Frame.H {
		for x := range t.Frame.W {
			sum, known, at := 0.0, 0, y*t.Frame.W+x
			for dy := range k {
				for dx := range k {
					i := (y*k+dy)*g.frame.W + x*k + dx
					if v := z[i]; v == v {
						sum, known = sum+float64(v), known+1
					}
					t.Bars[at] |= bars[i]
					if status == nil {
						continue
					}
					if s := access.Status(status[i]); dx+dy == 0 || level[s] > level[t.status[at]] {
						t.status[at] = s
					}
				}
			}
			t.Height[at] = float32(sum / float64(known)) // 0/0 is NaN: no height
		}
	}
}

// readStreams takes the streams that the run used.
func (t *tripGround) readStreams(run *results.Run) error {
	to, err := vector.FromWGS84(t.Frame.WKT)
	if err != nil {
		return err
	}
	for _, s := range run.Streams {
		g, err := to.Geometry(s.Line.Clone())
		if err != nil {
			return fmt.Errorf("streams.gpkg: %w", err)
		}
		t.Streams = append(t.Streams, g)
	}
	if len(run.Streams) == 0 {
		return fmt.Errorf("run %q: no streams can be read from streams.gpkg, so no trip can be planned that keeps out of the water; make the map again with output.report true", run.Folder)
	}
	return nil
}

// tellLayers says what was read, and what could not be known.
func (t *tripGround) tellLayers(in *Inputs) {
	t.known = append([]string{fmt.Sprintf("heights on cells of %.0f m", t.Frame.Cell), "the streams of the map"}, t.known...)
	if in.Cover != nil || in.Survey.Approach.Water.Path != "" {
		t.known = append(t.known, "open water")
	} else {
		t.notKnown = append(t.notKnown, "open water: no land cover and no water layer")
	}
	if t.status != nil {
		t.known = append(t.known, "who may enter, where a layer says so")
	} else {
		t.notKnown = append(t.notKnown, "who may enter: the survey has no access layer, so ask everywhere")
	}
	if len(in.Survey.KeepOut) > 0 {
		t.known = append(t.known, "ground to keep out of, crossed on mapped ways alone")
	} else {
		t.notKnown = append(t.notKnown, "railways, works, sprayed fields: the survey has no keep_out")
	}
	t.notKnown = append(t.notKnown, "fences, gates, floods, ice, mud, snow, thickets, streams too small to be mapped: walking times have none of them in")
}

// over sums up the metres of a line on cells of a status, off the path or on.
func (t *tripGround) over(line orb.LineString, s access.Status) float64 {
	if t.status == nil {
		return 0
	}
	sum := 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		d := math.Hypot(b[0]-a[0], b[1]-a[1])
		n := max(1, int(math.Ceil(2*d/t.Frame.Cell)))
		for k := range n {
			u := (float64(k) + 0.5) / float64(n)
			if x, y, ok := t.Frame.At(a[0]+u*(b[0]-a[0]), a[1]+u*(b[1]-a[1])); ok && t.status[y*t.Frame.W+x] == s {
				sum += d / float64(n)
			}
		}
	}
	return sum
}
