package habitat

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strconv"
	"strings"

	"rillwood/habitat/access"
	"rillwood/habitat/evidence"
	"rillwood/habitat/inventory"
	"rillwood/raster"
	"rillwood/raster/terrain"
	"rillwood/vector"
)

// Valley flatness is kept in bytes.
const (
	flatnessUnit = terrain.FlatnessUnit // stored flatness = flatness × flatnessUnit
	flatnessNone = terrain.FlatnessMissing
)

// isTable tells a CSV of trees from a layer of points.
func (t TreeLayer) isTable() bool {
	switch strings.ToLower(filepath.Ext(t.Path)) {
	case ".csv", ".txt":
		return true
	}
	return false
}

// query is what the vector reader is asked for, near the frame.
func (l LayerSpec) query(f raster.Frame, marginM float64) vector.Query {
	w, s, e, n := f.Bounds()
	return vector.Query{Path: l.Path, Layer: l.Layer, Where: l.Where, CRS: l.CRS, Swap: l.Swap,
		Bounds: &[4]float64{w - marginM, s - marginM, e + marginM, n + marginM}}
}

// readLayers lands the layers beside elevation, cover and streams.
func (g *ground) readLayers(ctx context.Context, in *Inputs, o runOptions) error {
	if err := in.Survey.Approach.there(); err != nil {
		return err // they are read last: better told now
	}
	for _, read := range []func(context.Context, *Inputs, runOptions) error{g.readEvidence, g.readFlatness, g.readInventory, g.readAccess, g.readKeepOut} {
		if err := read(ctx, in, o); err != nil {
			return err
		}
	}
	return nil
}

func (g *ground) readEvidence(ctx context.Context, in *Inputs, o runOptions) error {
	layers := in.Survey.evidenceLayers()
	if len(layers) == 0 {
		return nil
	}
	report := o.stage("reading evidence")
	for i, e := range layers {
		src, err := e.source(g.frame, in)
		if err != nil {
			return err
		}
		items, warnings, err := evidence.Read(ctx, src, g.frame, o.scratch.Cold(), o.workers)
		if err != nil {
			if inner := errors.Unwrap(err); inner != nil {
				err = inner // the field names the layer already
			}
			return fmt.Errorf("%s: %w", e.field, err)
		}
		in.Warnings = append(in.Warnings, warnings...) // they name their layer
		g.items = append(g.items, items...)
		report(float64(i+1) / float64(len(layers)+1))
	}
	var err error
	g.evidence, g.shifts, err = evidence.CombinePlanes(ctx, g.items, in.Profile.Bottomland.Evidence, g.frame, o.scratch.Cold(), o.workers)
	if err != nil {
		return err
	}
	report(1)
	return nil
}

// source is what the reader of evidence is asked for.
func (e namedEvidence) source(f raster.Frame, in *Inputs) (evidence.Source, error) {
	table, err := e.loadTable()
	if err != nil {
		return evidence.Source{}, err
	}
	src := evidence.Source{Name: e.name(), Fields: e.spec.Fields, Table: table, Unknown: e.spec.Unknown}
	if isRasterFile(e.spec.Path, e.spec.CRS) {
		if e.spec.Layer != "" || e.spec.Where != "" || e.spec.Swap {
			return src, wrong(e.field+".layer", "%q is a raster: layer, where and swap belong to polygons", e.spec.Path)
		}
		src.Raster = &raster.Source{Paths: []string{e.spec.Path}, CRS: e.spec.CRS}
		if e.spec.Nodata != nil {
			nd := float64(*e.spec.Nodata)
			src.Raster.NoData = &nd
		}
		return src, nil
	}
	if e.spec.Nodata != nil {
		return src, wrong(e.field+".nodata", "belongs to a raster, and %q is none", e.spec.Path)
	}
	src.Query = e.spec.query(f, 0)
	return src, nil
}

func (e namedEvidence) loadTable() (*evidence.Table, error) {
	name := e.tableName()
	if isPath(name) {
		t, err := evidence.ReadTable(name)
		if err != nil {
			return nil, fmt.Errorf("%s.table: %w", e.field, err)
		}
		return t, nil
	}
	t, _, err := evidence.Builtin(name)
	if err != nil {
		return nil, wrong(e.field+".table", "%v", err)
	}
	return t, nil
}

// isRasterFile tells a raster from a vector layer by what opens it.
func isRasterFile(path, crs string) bool {
	if _, err := vector.Describe(path, "", crs); err == nil {
		return false
	}
	_, err := raster.Describe(path, crs)
	return err == nil
}

func (g *ground) readFlatness(ctx context.Context, in *Inputs, o runOptions) error {
	if !in.Survey.Evidence.ValleyFlatness {
		return nil
	}
	var err error
	g.flatness, err = keptFlatness(ctx, g, o)
	return err
}

func (g *ground) readInventory(ctx context.Context, in *Inputs, o runOptions) error {
	inv := in.Survey.Inventory
	if len(inv.Rasters) == 0 && inv.Trees.Path == "" {
		return nil
	}
	report := o.stage("reading host inventory")
	hosts := make([]inventory.Host, len(in.Profile.Hosts))
	for k, h := range in.Profile.Hosts {
		hosts[k] = inventory.Host{ID: h.ID, Common: h.Common, Scientific: h.Scientific, FIA: h.FIA, DensityHa: h.DensityHa, DeadShare: h.DeadShare}
	}
	blend := inv.BlendM
	if blend == 0 {
		blend = -1 // none: to the readers, 0 is a default of their own
	}
	for i, r := range inv.Rasters {
		field := at("inventory.rasters", i)
		m, warnings, err := inventory.ReadRaster(ctx, inventory.RasterSource{
			Host: r.Host, Source: raster.Source{Paths: in.hostRasters[i], CRS: r.CRS, NoData: r.Nodata},
			Measure: r.Measure, Unit: r.Unit, StemCm: r.StemCm, BlendM: blend,
		}, hosts, g.frame, o.scratch.Cold(), o.workers)
		if err != nil {
			if inner := errors.Unwrap(err); inner != nil && strings.HasPrefix(inner.Error(), strconv.Quote(in.hostRasters[i][0])) {
				err = inner // it names the file already
			}
			return fmt.Errorf("%s: %w", field, err)
		}
		in.warnAll(field, warnings)
		g.measured = append(g.measured, m)
		report(float64(i+1) / float64(len(inv.Rasters)+2))
	}
	if t := inv.Trees; t.Path != "" {
		src := inventory.TreeSource{
			Columns: inventory.Columns{X: t.Fields["x"], Y: t.Fields["y"], Species: t.Fields["species"], Diameter: t.Fields["diameter"],
				Status: t.Fields["status"], Expansion: t.Fields["expansion"]},
			DiameterUnit: t.DiameterUnit, MinCm: t.MinCm, BandwidthM: t.BandwidthM, BlendM: blend, Covers: t.Covers,
		}
		if t.isTable() {
			src.CSV, src.CRS = t.Path, t.CRS
		} else {
			src.Points = vector.Query{Path: t.Path, Layer: t.Layer, Where: t.Where, CRS: t.CRS, Swap: t.Swap}
		}
		if s := t.Surveyed; s.Path != "" {
			src.Extent = vector.Query{Path: s.Path, Layer: s.Layer, Where: s.Where, CRS: s.CRS, Swap: s.Swap}
		}
		ms, warnings, err := inventory.ReadTrees(ctx, src, hosts, g.frame, o.scratch.Cold(), o.workers)
		if err != nil {
			return fmt.Errorf("inventory.trees: %w", err)
		}
		in.warnAll("inventory.trees", warnings)
		g.measured = append(g.measured, ms...)
	}
	all, notes, err := inventory.Merge(ctx, hosts, g.measured, o.scratch.Cold(), o.workers)
	g.measured = all
	if err != nil {
		return err
	}
	in.warnAll("inventory", notes)
	report(1)
	return nil
}

func (g *ground) readAccess(ctx context.Context, in *Inputs, o runOptions) error {
	if len(in.Survey.Access) == 0 {
		return nil
	}
	report := o.stage("reading access")
	var sources []access.Source
	for _, a := range in.Survey.Access {
		src := access.Source{Query: a.query(g.frame, 0), Field: a.Field, NameField: a.NameField, Values: access.Values{}}
		for k, v := range a.Values {
			src.Values[k], _ = access.ParseStatus(v) // the survey was checked
		}
		if a.Status != "" {
			src.Status, _ = access.ParseStatus(a.Status)
			src.HasStatus = true
		}
		sources = append(sources, src)
	}
	land, warnings, err := access.Read(ctx, sources, g.frame, o.scratch.Cold(), o.workers)
	if err != nil {
		return err
	}
	in.warnAll("access", warnings)
	g.access = land
	report(1)
	return nil
}

func (g *ground) readKeepOut(ctx context.Context, in *Inputs, o runOptions) error {
	if len(in.Survey.KeepOut) == 0 {
		return nil
	}
	report := o.stage("reading ground to keep out of")
	var barriers []access.Barrier
	for i, k := range in.Survey.KeepOut {
		if k.Path == "" {
			continue
		}
		b, err := k.barrier(at("keep_out", i), g.frame)
		if err != nil {
			return err
		}
		barriers = append(barriers, b)
	}
	var warnings []string
	var err error
	if g.keepOut, warnings, err = access.ReadKeepOut(ctx, barriers, g.frame, o.scratch.Cold(), o.workers); err != nil {
		return err
	}
	in.warnAll("keep_out", warnings)
	for _, k := range in.Survey.KeepOut {
		if len(k.Cover) == 0 {
			continue
		}
		cells, err := g.coverCells(ctx, in, k.Cover, o)
		if err != nil {
			return err
		}
		err = g.keepOut.AddCells(ctx, cells, *k.DistanceM, k.coverReason())
		cells.Close()
		if err != nil {
			return err
		}
	}
	report(1)
	return nil
}

// barrier is what the reader of keep-out ground is asked for: the preset's
// filter, distance and reason where the survey gives none of its own.
func (k KeepOutSpec) barrier(field string, f raster.Frame) (access.Barrier, error) {
	b := access.Barrier{Reason: k.Reason}
	if k.DistanceM != nil {
		b.DistanceM = *k.DistanceM
	}
	where := k.Where
	if k.Preset != "" {
		p, _ := access.PresetNamed(k.Preset) // the survey was checked
		info, err := vector.Describe(k.Path, k.Layer, k.CRS)
		if err != nil {
			return b, fmt.Errorf("%s: %w", field, err)
		}
		columns := make([]string, len(info.Fields))
		for i, c := range info.Fields {
			columns[i] = c.Name
		}
		filter, err := p.Where(columns)
		if err != nil {
			return b, fmt.Errorf("%s: %q: %w", field, k.Path, err)
		}
		if where != "" {
			filter = "(" + where + ") AND (" + filter + ")"
		}
		where = filter
		if k.DistanceM == nil {
			b.DistanceM = p.DistanceM
		}
		if b.Reason == "" {
			b.Reason = p.Reason
		}
	}
	b.Query = k.query(f, b.DistanceM)
	b.Query.Where = where
	return b, nil
}

func (k KeepOutSpec) coverReason() string {
	if k.Reason != "" {
		return k.Reason
	}
	reason := ""
	for i, g := range k.Cover {
		if i > 0 {
			reason += ", "
		}
		reason += CoverGroup(g).Words()
	}
	return "by " + reason
}

// coverCells marks the cells of some kinds of land cover with 1.
func (g *ground) coverCells(ctx context.Context, in *Inputs, groups []string, o runOptions) (_ *raster.Plane[uint8], err error) {
	var wanted [256]bool
	for slot := range wanted {
		if slot == int(NoClass) {
			continue
		}
		class, ok := in.legend().Class(uint8(slot))
		for _, name := range groups {
			wanted[slot] = wanted[slot] || ok && class.Group == CoverGroup(name)
		}
	}
	plane, err := raster.NewPlane[uint8](g.frame.W, g.frame.H, o.scratch.Cold())
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			plane.Close()
		}
	}()
	row := make([]uint8, g.frame.W)
	for y := range g.frame.H {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if err := g.cover.Read(0, y, g.frame.W, 1, row); err != nil {
			return nil, err
		}
		for x, slot := range row {
			row[x] = 0
			if wanted[slot] {
				row[x] = 1
			}
		}
		if err := plane.Write(0, y, g.frame.W, 1, row); err != nil {
			return nil, err
		}
	}
	return plane, nil
}

// kinds is the number of kinds of ground that patches must not mix.
func (g *ground) kinds() int32 {
	if g.access == nil {
		return 0
	}
	return landKinds
}
