package habitat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/raster/terrain"
	"rillwood/vector"
)

// Reach is one piece of stream: a mapped line, or a channel between junctions
// where streams come from the elevation.
type Reach struct {
	Name    string
	Order   int     // 0 = not known
	AreaKm2 float64 // total drainage area at the lower end, NaN = not known
	Line    orb.Geometry
}

// Network is the streams of a run on its frame.
type Network struct {
	Mapped   bool
	Reaches  []Reach
	Cells    []int   // row-major, ascending: every stream cell …
	Owner    []int32 // … and the reach it belongs to
	Inflows  []terrain.Inflow
	Doors    []int        // cells on the rim of the ground where streams come in, ascending
	Fields   StreamFields // the columns used
	Rule     string       // which lines were left out, in words
	Dropped  map[string]int
	Warnings []string
}

// reachAt gives the reach of a stream cell, -1 when it is none.
func (n *Network) reachAt(cell int64) int32 {
	i, ok := slices.BinarySearch(n.Cells, int(cell))
	if !ok {
		return -1
	}
	return n.Owner[i]
}

// readStreams reads the mapped streams of a survey onto the frame.
func readStreams(ctx context.Context, spec StreamSpec, f raster.Frame, height func(cell int) float64, byOrder OrderArea) (*Network, error) {
	n := &Network{Mapped: true, Dropped: map[string]int{}}
	w, s, e, no := f.Bounds()
	box := [4]float64{w, s, e, no}
	read := 0
	for _, path := range spec.Path {
		plan, err := planStreams(spec, path)
		if err != nil {
			return nil, err
		}
		n.Fields, n.Rule = plan.fields, plan.rule
		l, err := vector.Read(ctx, vector.Query{Path: path, Layer: spec.Layer, Where: spec.Where, CRS: spec.CRS, Fields: plan.columns, Bounds: &box, Kind: vector.Lines}, f.WKT)
		if err != nil {
			return nil, fmt.Errorf("streams: %w", err)
		}
		n.Warnings = append(n.Warnings, l.Warnings...)
		read += l.Count
		for _, ft := range l.Features {
			if name, drop := plan.drop(ft.Values); drop {
				n.Dropped[name]++
				continue
			}
			switch ft.Geometry.(type) {
			case orb.LineString, orb.MultiLineString:
			default:
				n.Dropped["not a line"]++
				continue
			}
			n.Reaches = append(n.Reaches, plan.reach(ft))
		}
	}
	if len(n.Reaches) == 0 {
		if n := total(n.Dropped); n > 0 {
			return nil, wrong("streams", "all %d lines inside the map were left out by the rules; set rules: all or change where", n)
		}
		return nil, wrong("streams", "none of the %d lines of %s lies inside the map; check the layer, its where and its coordinate system", read, strings.Join(spec.Path, ", "))
	}
	lines := make([]orb.Geometry, len(n.Reaches))
	for i, r := range n.Reaches {
		lines[i] = r.Line
	}
	paths, err := vector.BurnLines(f, lines)
	if err != nil {
		return nil, fmt.Errorf("streams: %w", err)
	}
	n.own(paths)
	if len(n.Cells) == 0 {
		return nil, wrong("streams", "no line crosses the map; check the coordinate system of the layer")
	}
	n.enter(paths, f, height, byOrder)
	return n, nil
}

// own gives each stream cell to the first reach that crosses it.
func (n *Network) own(paths []vector.CellPath) {
	type claim struct {
		cell  int
		reach int32
	}
	var claims []claim
	for _, p := range paths {
		for _, c := range p.Cells {
			claims = append(claims, claim{c, int32(p.Feature)})
		}
	}
	sort.Slice(claims, func(a, b int) bool {
		if claims[a].cell != claims[b].cell {
			return claims[a].cell < claims[b].cell
		}
		return claims[a].reach < claims[b].reach
	})
	for i, c := range claims {
		if i == 0 || c.cell != claims[i-1].cell {
			n.Cells = append(n.Cells, c.cell)
			n.Owner = append(n.Owner, c.reach)
		}
	}
}

// streamPlan is how the features of one stream layer are understood.
type streamPlan struct {
	fields  StreamFields
	columns []string
	at      map[string]int
	rule    string
	nhd     bool
	toKm2   float64
}

// planStreams looks at the layer and settles columns and rules.
func planStreams(spec StreamSpec, path string) (*streamPlan, error) {
	in, err := vector.Describe(path, spec.Layer, spec.CRS)
	if err != nil {
		return nil, fmt.Errorf("streams: %w", err)
	}
	var names []string
	for _, f := range in.Fields {
		names = append(names, f.Name)
	}
	p := &streamPlan{at: map[string]int{}, toKm2: 1}
	if spec.AreaUnit == "mi2" {
		p.toKm2 = km2PerMi2
	}
	usual := StreamFieldNames()
	for _, c := range []struct {
		key   string
		want  string
		usual []string
		into  *string
	}{
		{"streams.fields.name", spec.Fields.Name, usual.Name, &p.fields.Name},
		{"streams.fields.order", spec.Fields.Order, usual.Order, &p.fields.Order},
		{"streams.fields.area", spec.Fields.Area, usual.Area, &p.fields.Area},
		{"streams.fields.code", spec.Fields.Code, usual.Code, &p.fields.Code},
	} {
		col, err := PickField(c.key, c.want, c.usual, names)
		if err != nil {
			return nil, err
		}
		if *c.into = col; col != "" {
			p.at[c.key] = len(p.columns)
			p.columns = append(p.columns, col)
		}
	}
	switch {
	case spec.Rules == "nhd" && p.fields.Code == "":
		return nil, wrong("streams.rules", "%q has no feature-code column (FCode) for the nhd rules; name it in fields.code or set rules: all", path)
	case spec.Rules == "nhd", (spec.Rules == "auto" || spec.Rules == "") && strings.EqualFold(p.fields.Code, "fcode"):
		p.nhd = true
		p.rule = fmt.Sprintf("National Hydrography rules by %s: pipelines, underground conduits, canals and coastlines off, artificial paths on", p.fields.Code)
	default:
		p.rule = "every line counts"
	}
	return p, nil
}

func (p *streamPlan) value(key string, vs []vector.Value) (vector.Value, bool) {
	i, ok := p.at[key]
	if !ok || vs[i].IsNull() {
		return vector.Value{}, false
	}
	return vs[i], true
}

// drop tells whether the rules leave a feature out, and as what.
func (p *streamPlan) drop(vs []vector.Value) (string, bool) {
	if !p.nhd {
		return "", false
	}
	v, ok := p.value("streams.fields.code", vs)
	if !ok {
		return "", false
	}
	code, ok := v.Float()
	if !ok || KeepStream(int(code)) {
		return "", false
	}
	c, _ := LookupStreamCode(int(code))
	return c.Name, true
}

func (p *streamPlan) reach(ft vector.Feature) Reach {
	r := Reach{Line: ft.Geometry, AreaKm2: math.NaN()}
	if v, ok := p.value("streams.fields.name", ft.Values); ok {
		r.Name = strings.TrimSpace(v.String())
		switch strings.ToLower(r.Name) {
		case "none", "null", "nan", "n/a", "na", "unnamed", "-":
			r.Name = "" // how some tools write a missing name
		}
	}
	if v, ok := p.value("streams.fields.order", ft.Values); ok {
		if o, ok := v.Float(); ok && o >= 1 && o <= 12 {
			r.Order = int(o)
		}
	}
	if v, ok := p.value("streams.fields.area", ft.Values); ok {
		// Negative numbers stand for missing in the national layers.
		if a, ok := v.Float(); ok && a > 0 {
			r.AreaKm2 = a * p.toKm2
		}
	}
	return r
}

// deriveStreams makes the network from contributing area.
func deriveStreams(ctx context.Context, r *terrain.Routing, area *raster.Plane[float32], thresholdKm2 float64, f raster.Frame) (*Network, error) {
	links, err := terrain.Links(ctx, r, area, thresholdKm2)
	if err != nil {
		return nil, err
	}
	if len(links) == 0 {
		return nil, wrong("streams.threshold_km2", "holds no cell that drains %g km²: the map is too small for that, or its elevation holds too little ground; give a mapped stream layer, or a smaller threshold", thresholdKm2)
	}
	n := &Network{Rule: fmt.Sprintf("channels where at least %g km² drains together", thresholdKm2), Dropped: map[string]int{}}
	var paths []vector.CellPath
	for i, l := range links {
		line := make(orb.LineString, 0, len(l.Cells))
		p := vector.CellPath{Feature: i}
		for _, c := range l.Cells {
			e, no := f.Center(int(c)%f.W, int(c)/f.W)
			line = append(line, orb.Point{e, no})
			p.Cells = append(p.Cells, int(c))
		}
		if k := len(p.Cells); k > 1 && l.Down >= 0 {
			p.Cells = p.Cells[:k-1] // the junction belongs to the link below
		}
		paths = append(paths, p)
		n.Reaches = append(n.Reaches, Reach{Order: l.Order, AreaKm2: l.Km2, Line: line})
	}
	n.own(paths)
	return n, nil
}

func total(m map[string]int) (n int) {
	for _, v := range m {
		n += v
	}
	return n
}
