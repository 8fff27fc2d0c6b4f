package habitat

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"rillwood/habitat/access"
	"rillwood/habitat/approach"
	"rillwood/raster"
	"rillwood/vector"
)

// approach finds the way to each candidate, where the survey names paths or roads.
func (m *surveyor) approach(ctx context.Context, cs []Candidate, o runOptions) error {
	spec := m.in.Survey.Approach
	if !spec.given() || len(cs) == 0 {
		return nil
	}
	report := o.stage("finding ways in")
	ways, starts, err := m.readWays(ctx, spec)
	if err != nil {
		return err
	}
	ground, err := m.newWalkGround(ctx, spec, o)
	if err != nil {
		return err
	}
	report(0.2)
	net, warnings, err := approach.Build(ctx, ways, starts, ground, approach.Options{
		StraightFactor: spec.OffPath, CrossingM: spec.CrossingM, MaxStraightM: spec.FarthestM, Workers: o.workers,
		ClosedPathM: max(30, 2*m.g.frame.Cell), // borders are off by a cell
	})
	if err != nil {
		return fmt.Errorf("approach: %w", err)
	}
	m.in.warnAll("approach", warnings)
	report(0.6)
	targets := make([]approach.Target, len(cs))
	for i := range cs {
		targets[i] = approach.Target{Border: borderPoints(&cs[i], m.g.frame), Middle: cs[i].Middle}
	}
	walks, err := net.All(ctx, targets)
	if err != nil {
		return err
	}
	for i := range cs {
		cs[i].Walk = &walks[i]
	}
	report(1)
	return nil
}

// borderPoints lie along the outer outlines of a candidate, in their order, two
// cells apart, or farther so that there are about 200.
func borderPoints(c *Candidate, f raster.Frame) []orb.Point {
	around := 0.0
	for _, poly := range c.Shape {
		around += planar.Length(poly[0])
	}
	step := max(2*f.Cell, around/200)
	var out []orb.Point
	for _, poly := range c.Shape {
		ring := poly[0]
		left := 0.0
		for i := 1; i < len(ring); i++ {
			a, b := ring[i-1], ring[i]
			side := planar.Distance(a, b)
			for ; left < side; left += step {
				t := left / side
				out = append(out, orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
			}
			left -= side
		}
	}
	return out
}

// readWays reads paths, roads and parking places. Without a parking layer
// every place on a road is one to start from.
func (m *surveyor) readWays(ctx context.Context, spec ApproachSpec) (ways []approach.Way, starts []approach.Start, err error) {
	f := m.g.frame
	read := func(field string, l LayerSpec, kind approach.Kind) error {
		if l.Path == "" {
			return nil
		}
		layer, columns, err := m.readTagged(ctx, field, l, vector.Lines, "name", "bridge", "tunnel", "highway", "access", "foot")
		if err != nil {
			return err
		}
		for _, ft := range layer.Features {
			tags := tagsOf(ft, columns)
			way := approach.Way{Kind: kind, Name: tags["name"], Bridge: yes(tags["bridge"]) || yes(tags["tunnel"]), Closed: notWalked(tags)}
			for _, line := range linesOf(ft.Geometry) {
				way.Line = line
				ways = append(ways, way)
				if kind == approach.Road && spec.Parking.Path == "" && !way.Closed {
					for _, p := range line {
						starts = append(starts, approach.Start{Point: p, Name: way.Name, Kind: "road"})
					}
				}
			}
		}
		return nil
	}
	if err := read("approach.paths", spec.Paths, approach.Path); err != nil {
		return nil, nil, err
	}
	if err := read("approach.roads", spec.Roads, approach.Road); err != nil {
		return nil, nil, err
	}
	if spec.Parking.Path == "" {
		return ways, starts, nil
	}
	layer, columns, err := m.readTagged(ctx, "approach.parking", spec.Parking, vector.Any, "name", "access")
	if err != nil {
		return nil, nil, err
	}
	unlawful := 0
	for _, ft := range layer.Features {
		tags := tagsOf(ft, columns)
		if s, ok := access.StreetMap()[strings.ToLower(tags["access"])]; ok && s != access.Open && s != access.Permit {
			unlawful++
			continue
		}
		p := ft.Geometry.Bound().Center()
		if x, y, ok := f.At(p[0], p[1]); ok && m.g.access != nil {
			var s [1]uint8
			if err := m.g.access.Status.Read(x, y, 1, 1, s[:]); err != nil {
				return nil, nil, err
			}
			if access.Status(s[0]) == access.Closed {
				unlawful++
				continue
			}
		}
		starts = append(starts, approach.Start{Point: p, Name: tags["name"], Kind: "parking"})
	}
	if unlawful > 0 {
		m.in.warn("approach.parking: %d left out: private, for customers, or on closed ground", unlawful)
	}
	return ways, starts, nil
}

// readTagged reads a layer with those of the columns that it has.
func (m *surveyor) readTagged(ctx context.Context, field string, l LayerSpec, kind vector.Kind, wanted ...string) (vector.Layer, []string, error) {
	info, err := vector.Describe(l.Path, l.Layer, l.CRS)
	if err != nil {
		return vector.Layer{}, nil, fmt.Errorf("%s: %w", field, err)
	}
	q := l.query(m.g.frame, 0)
	q.Kind = kind
	var columns []string
	for _, w := range wanted {
		for _, f := range info.Fields {
			if strings.EqualFold(f.Name, w) {
				q.Fields, columns = append(q.Fields, f.Name), append(columns, w)
				break
			}
		}
	}
	layer, err := vector.Read(ctx, q, m.g.frame.WKT)
	if errors.Is(err, vector.ErrEmpty) {
		m.in.warn("%s: %v", field, err)
		return vector.Layer{}, columns, nil
	}
	if err != nil {
		return vector.Layer{}, nil, fmt.Errorf("%s: %w", field, err)
	}
	m.in.warnAll(field, layer.Warnings)
	return layer, columns, nil
}

func tagsOf(f vector.Feature, columns []string) map[string]string {
	tags := map[string]string{}
	for i, c := range columns {
		tags[c] = strings.TrimSpace(f.Values[i].String())
	}
	return tags
}

func yes(v string) bool {
	switch strings.ToLower(v) {
	case "", "0", "no", "false", "n", "f":
		return false
	}
	return true
}

// notWalked tells ways that are barred to walkers by open street-map tags.
// From memory of the tags' published meanings.
func notWalked(tags map[string]string) bool {
	switch strings.ToLower(tags["foot"]) {
	case "yes", "designated", "permissive":
		return false
	case "no", "private":
		return true
	}
	switch strings.ToLower(tags["highway"]) {
	case "motorway", "motorway_link", "trunk", "trunk_link", "construction", "proposed":
		return true
	}
	switch strings.ToLower(tags["access"]) {
	case "no", "private", "customers", "delivery", "military":
		return true
	}
	return false
}

func linesOf(g orb.Geometry) []orb.LineString {
	switch g := g.(type) {
	case orb.LineString:
		return []orb.LineString{g}
	case orb.MultiLineString:
		return g
	}
	return nil
}

// walkGround is the ground between paths and patches.
type walkGround struct {
	g       *ground
	streams *approach.StreamIndex
	barred  *approach.WaterPlane
	bits    []uint8 // two bits a cell
}

func (m *surveyor) newWalkGround(ctx context.Context, spec ApproachSpec, o runOptions) (*walkGround, error) {
	f := m.g.frame
	lines := make([]orb.Geometry, len(m.g.network.Reaches))
	for i, r := range m.g.network.Reaches {
		lines[i] = r.Line
	}
	w := &walkGround{g: m.g, streams: approach.NewStreamIndex(lines), bits: make([]uint8, (f.Cells()+3)/4)}
	w.barred = &approach.WaterPlane{Frame: f, Cell: w.cell, Beyond: approach.WaterBit}
	wet, err := m.openWater(ctx, spec, o)
	if err != nil {
		return nil, err
	}
	defer wet.Close()
	row := make([]uint8, f.W)
	mark := func(plane *raster.Plane[uint8], is func(v uint8) bool, bit uint8) error {
		for y := range f.H {
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := plane.Read(0, y, f.W, 1, row); err != nil {
				return err
			}
			for x, v := range row {
				if is(v) {
					i := y*f.W + x
					w.bits[i/4] |= bit << (2 * (i % 4))
				}
			}
		}
		return nil
	}
	if wet != nil {
		if err := mark(wet, func(v uint8) bool { return v != 0 }, approach.WaterBit); err != nil {
			return nil, err
		}
	}
	if m.g.cover != nil {
		var water [256]bool
		for slot := range water {
			if class, ok := m.legend.Class(uint8(slot)); ok {
				water[slot] = class.Group == Water || class.Group == Ice
			}
		}
		if err := mark(m.g.cover, func(v uint8) bool { return v != NoClass && water[v] }, approach.WaterBit); err != nil {
			return nil, err
		}
	}
	if m.g.access != nil {
		if err := mark(m.g.access.Status, func(v uint8) bool { return access.Status(v) == access.Closed }, approach.ClosedBit); err != nil {
			return nil, err
		}
	}
	return w, nil
}

// openWater burns the polygons of the water layer; nil where none is named.
func (m *surveyor) openWater(ctx context.Context, spec ApproachSpec, o runOptions) (*raster.Plane[uint8], error) {
	if spec.Water.Path == "" {
		return nil, nil
	}
	layer, _, err := m.readTagged(ctx, "approach.water", spec.Water, vector.Polygons)
	if err != nil {
		return nil, err
	}
	var shapes []orb.Geometry
	for _, ft := range layer.Features {
		shapes = append(shapes, ft.Geometry)
	}
	plane, err := raster.NewPlane[uint8](m.g.frame.W, m.g.frame.H, o.scratch.Cold())
	if err != nil {
		return nil, err
	}
	if _, err := vector.FillPolygons(m.g.frame, shapes, 1, plane); err != nil {
		plane.Close()
		return nil, fmt.Errorf("approach.water: %w", err)
	}
	return plane, nil
}

func (w *walkGround) cell(x, y int) uint8 {
	i := y*w.g.frame.W + x
	return w.bits[i/4] >> (2 * (i % 4)) & 3
}

// Height is that of the cell a point lies in.
func (w *walkGround) Height(p orb.Point) float64 {
	x, y, ok := w.g.frame.At(p[0], p[1])
	if !ok {
		return math.NaN()
	}
	return w.g.heightAt(y*w.g.frame.W + x)
}

func (w *walkGround) Blocked(a, b orb.Point) (water, closed bool) { return w.barred.Blocked(a, b) }

func (w *walkGround) Crossings(a, b orb.Point) int { return w.streams.Crossings(a, b) }

// joinLand names the land units each candidate lies in.
func (m *surveyor) joinLand(cs []Candidate) {
	if m.g.access == nil {
		return
	}
	for i := range cs {
		_, cs[i].Land = m.g.access.Over(cellPoints(&cs[i], m.g.frame))
	}
}

// cellPoints are the centres of a candidate's cells, row by row, of very many
// every second, third and so on. The outline would not do: along a border of
// two owners it lies on the neighbour's ground as often as not.
func cellPoints(c *Candidate, f raster.Frame) []orb.Point {
	const most = 5000
	step := max(1, (c.Cells+most-1)/most)
	out := make([]orb.Point, 0, c.Cells/step+1)
	k := 0
	for _, r := range c.patch.Runs {
		for x := r.X0; x < r.X1; x, k = x+1, k+1 {
			if k%step == 0 {
				e, n := f.Center(int(x), int(r.Y))
				out = append(out, orb.Point{e, n})
			}
		}
	}
	return out
}

// there looks whether the layers can be opened.
func (a *ApproachSpec) there() error {
	for _, l := range []struct {
		field string
		spec  LayerSpec
	}{{"approach.paths", a.Paths}, {"approach.roads", a.Roads}, {"approach.parking", a.Parking}, {"approach.water", a.Water}} {
		if l.spec.Path == "" {
			continue
		}
		if _, err := vector.Describe(l.spec.Path, l.spec.Layer, l.spec.CRS); err != nil {
			return fmt.Errorf("%s: %w", l.field, err)
		}
	}
	return nil
}
