package access

import (
	"context"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// Unit is one piece of ground with an owner or a keeper.
type Unit struct {
	Name     string // "" when it has none
	Status   Status
	Geometry orb.Geometry // Polygon or MultiPolygon, frame CRS
}

// Land is who may enter where.
type Land struct {
	Status *raster.Plane[uint8] // a Status for each cell of the frame, by its centre
	Units  []Unit               // those that meet the frame, in the order of the sources
	index  *vector.Index
}

// Read lays sources on the frame. Where polygons overlap, of one layer or of
// several, the most cautious status wins (ByCaution); ground in no polygon is
// unknown. A value that the table does not have is unknown and counted in a
// warning; so is a layer without features. Layers without polygons, and those
// with neither a column nor a status, are refused. The plane goes to scratch
// when that is not nil; the caller closes the land. Sources are read side by
// side by the workers; the result does not depend on how many there are.
func Read(ctx context.Context, sources []Source, f raster.Frame, scratch *raster.Scratch, workers int) (*Land, []string, error) {
	units, told := make([][]Unit, len(sources)), make([][]string, len(sources))
	err := raster.Parallel(ctx, workers, len(sources), func(_, i int) (err error) {
		units[i], told[i], err = sources[i].read(ctx, f)
		return err
	})
	if err != nil {
		return nil, nil, fmt.Errorf("access: %w", err)
	}
	l := &Land{Units: slices.Concat(units...)}
	if l.Status, err = raster.NewPlane[uint8](f.W, f.H, scratch); err != nil {
		return nil, nil, fmt.Errorf("access: %w", err)
	}
	if err := l.draw(f); err != nil {
		l.Close()
		return nil, nil, fmt.Errorf("access: %w", err)
	}
	return l, slices.Concat(told...), nil
}

// draw fills the plane and makes the index.
func (l *Land) draw(f raster.Frame) error {
	shapes := make([]orb.Geometry, len(l.Units))
	order := make([]int, len(l.Units))
	for i, u := range l.Units {
		shapes[i], order[i] = u.Geometry, i
	}
	l.index = vector.NewIndex(shapes)
	// The later polygon stays, so the most cautious come last.
	slices.SortStableFunc(order, func(a, b int) int { return caution(l.Units[a].Status) - caution(l.Units[b].Status) })
	drawn := make([]orb.Geometry, len(order))
	for k, i := range order {
		drawn[k] = shapes[i]
	}
	_, err := vector.FillPolygonValues(f, drawn, func(k int) uint8 { return uint8(l.Units[order[k]].Status) }, l.Status)
	return err
}

// Close frees the plane. A nil Land may be closed.
func (l *Land) Close() {
	if l != nil {
		l.Status.Close()
	}
}

// At gives the status of a place and the name of the unit it comes from, the
// first of those with that status; Unknown and "" in no unit. A place on an
// outline is in the unit, so that of neighbours the more cautious one counts;
// the plane gives such a centre to one of them.
func (l *Land) At(p orb.Point) (Status, string) {
	best := -1
	for _, i := range l.index.Search(p.Bound()) {
		if best >= 0 && caution(l.Units[i].Status) <= caution(l.Units[best].Status) {
			continue
		}
		if newGround(l.Units[i].Geometry, p[1], p[1]).holds(p) {
			best = i
		}
	}
	if best < 0 {
		return Unknown, ""
	}
	return l.Units[best].Status, l.Units[best].Name
}
