package habitat

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rillwood/raster"
	"rillwood/vector"
)

// more looks at the layers of evidence, inventory, access, keep-out ground and
// ways.
func (c *checker) more(ctx context.Context, framed bool) {
	in := c.in
	if in.Profile != nil {
		if err := in.openLayers(); err != nil {
			c.once("further layers", err)
			framed = false
		}
	}
	plans := c.layerPlans()
	for _, l := range in.Survey.layers() {
		var r LayerReport
		if info, err := vector.Describe(l.spec.Path, l.spec.Layer, l.spec.CRS); err == nil {
			r = vectorReport(l.field, info)
		} else if l.field == "inventory.trees" && in.Survey.Inventory.Trees.isTable() {
			r = LayerReport{Role: l.field, Path: l.spec.Path, Driver: "CSV", CRS: l.spec.CRS, Found: []string{}, Plan: []string{}}
		} else if info, rerr := raster.Describe(l.spec.Path, l.spec.CRS); rerr == nil {
			r = rasterReport(l.field, info)
		} else {
			c.once(l.field, err)
			continue
		}
		if l.spec.Where != "" {
			r.Plan = append(r.Plan, "only where "+l.spec.Where)
		}
		r.Plan = append(r.Plan, plans[l.field]...)
		c.r.Layers = append(c.r.Layers, r)
	}
	for i, h := range in.Survey.Inventory.Rasters {
		if i >= len(in.hostRasters) {
			break
		}
		for _, p := range in.hostRasters[i] {
			info, err := raster.Describe(p, h.CRS)
			if err != nil {
				c.problem(at("inventory.rasters", i), err)
				continue
			}
			r := rasterReport(at("inventory.rasters", i), info)
			r.Plan = append(r.Plan, fmt.Sprintf("%s of %s; overrides the profile's density where it is known, blended over %g m", h.Measure, h.Host, in.Survey.Inventory.BlendM))
			c.r.Layers = append(c.r.Layers, r)
		}
	}
	if framed && in.Profile != nil {
		c.tryLayers(ctx)
	}
	if in.Survey.Evidence.ValleyFlatness {
		c.r.Warnings = append(c.r.Warnings, "valley flatness: measured from the elevation; it takes about half as long as the rest of the run")
	}
}

// once adds a problem of a layer, unless it was found before: a report that says
// it in the same words, or speaks of the layer's path.
func (c *checker) once(layer string, err error) {
	text := strings.TrimSpace(err.Error())
	for _, p := range c.r.Problems {
		if strings.HasSuffix(text, p.Text) || strings.HasPrefix(p.Text, layer+".path: ") {
			return
		}
	}
	c.problem(layer, err)
}

// tryLayers reads the further layers as a run would, onto a coarse copy of the
// frame: what is wrong with their columns, values and shapes shows now.
func (c *checker) tryLayers(ctx context.Context) {
	f := c.in.Frame
	k := coarser(f)
	f.Cell, f.W, f.H = f.Cell*float64(k), max(1, f.W/k), max(1, f.H/k)
	g := &ground{frame: f}
	defer g.close()
	trial := *c.in
	s := *c.in.Survey
	s.KeepOut = slices.DeleteFunc(slices.Clone(s.KeepOut), func(k KeepOutSpec) bool { return k.Path == "" })
	trial.Survey = &s
	for _, part := range []struct {
		name string
		read func(context.Context, *Inputs, runOptions) error
	}{{"evidence", g.readEvidence}, {"inventory", g.readInventory}, {"access", g.readAccess}, {"keep_out", g.readKeepOut}, {"approach", g.tryWays}} {
		if err := part.read(ctx, &trial, runOptions{workers: 2}); err != nil {
			c.once(part.name, err)
		}
	}
	c.in.Warnings = trial.Warnings
}

// tryWays reads the layers of the approach and keeps nothing of them.
func (g *ground) tryWays(ctx context.Context, in *Inputs, _ runOptions) error {
	spec := in.Survey.Approach
	if !spec.given() {
		return nil
	}
	m := &surveyor{in: in, g: g}
	if _, _, err := m.readWays(ctx, spec); err != nil || spec.Water.Path == "" {
		return err
	}
	_, _, err := m.readTagged(ctx, "approach.water", spec.Water, vector.Polygons)
	return err
}

// layerPlans say what will be done with each further layer.
func (c *checker) layerPlans() map[string][]string {
	s := c.in.Survey
	plans := map[string][]string{}
	for _, e := range s.evidenceLayers() {
		plans[e.field] = []string{"shifts the log-odds of bottomland by the table " + e.tableName()}
	}
	if s.Inventory.Trees.Path != "" {
		plans["inventory.trees"] = []string{"local density of each host overrides the profile's inside the surveyed ground"}
		plans["inventory.trees.surveyed"] = []string{"the ground where all trees were recorded"}
	}
	for i, a := range s.Access {
		plan := "access by its field of access codes"
		switch {
		case a.Status != "":
			plan = "every polygon is " + a.Status
		case a.Field != "":
			plan = "access from " + a.Field
		}
		plans[at("access", i)] = []string{plan, "where polygons overlap the most cautious counts"}
	}
	for i, k := range s.KeepOut {
		plan := "patches keep out of it"
		if k.Preset != "" {
			plan += ", preset " + k.Preset
		}
		if k.DistanceM != nil {
			plan += fmt.Sprintf(", and of %g m around", *k.DistanceM)
		}
		plans[at("keep_out", i)] = []string{plan}
	}
	plans["approach.paths"] = []string{"walked; a mapped stream on it with no mapped bridge counts as a crossing; not walked where it runs through closed ground"}
	plans["approach.roads"] = []string{"walked; taken to be public and to have bridges"}
	plans["approach.parking"] = []string{"walks start here, except at private and customers' places"}
	plans["approach.water"] = []string{"no way leads through it"}
	return plans
}
