package habitat

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// CheckReport is what a look at a survey's layers found.
type CheckReport struct {
	OK       bool          `json:"ok"` // whether the survey can run
	Survey   string        `json:"survey"`
	Frame    *CheckFrame   `json:"frame,omitempty"`
	Layers   []LayerReport `json:"layers"`
	Problems []Problem     `json:"problems"`
	Warnings []string      `json:"warnings"`
}

// CheckFrame is the grid the layers would land on.
type CheckFrame struct {
	CRS    string     `json:"crs"`
	EPSG   int        `json:"epsg,omitempty"`
	Cell   float64    `json:"cell_m"`
	Cols   int        `json:"columns"`
	Rows   int        `json:"rows"`
	Bounds [4]float64 `json:"bounds"` // west, south, east, north, m
	Why    string     `json:"why"`
	Memory int64      `json:"memory_bytes"` // what the run is expected to need at its peak, or is held to
	Plan   string     `json:"plan"`         // where it works, in words
}

// LayerReport is one file of a layer.
type LayerReport struct {
	Role    string     `json:"role"` // elevation, streams, landcover, area
	Path    string     `json:"path"`
	Driver  string     `json:"driver"`
	Layer   string     `json:"layer,omitempty"`
	CRS     string     `json:"crs"`
	EPSG    int        `json:"epsg,omitempty"`
	Size    string     `json:"size"`           // columns × rows, or features
	Cell    string     `json:"cell,omitempty"` // with its unit
	Extent  [4]float64 `json:"extent"`         // west, south, east, north in its own CRS
	Unit    string     `json:"unit,omitempty"`
	Covered *float64   `json:"covered_share,omitempty"` // of the frame
	Found   []string   `json:"found"`                   // classes, fields, value range
	Plan    []string   `json:"plan"`                    // what will be done with it
}

// Problem is something that keeps a survey from running, with its remedy.
type Problem struct {
	Layer string `json:"layer"`
	Text  string `json:"text"`
}

// checker looks at one part after another and goes on where it can.
type checker struct {
	r  CheckReport
	in *Inputs
}

// CheckSurvey opens a survey and every layer it names. It always answers; what
// cannot be opened is a problem in the report.
func CheckSurvey(ctx context.Context, path string) CheckReport {
	c := &checker{r: CheckReport{Survey: path, Layers: []LayerReport{}, Problems: []Problem{}, Warnings: []string{}}}
	s, err := LoadSurvey(path)
	if err != nil {
		c.problem("survey", err)
		return c.r
	}
	c.in = &Inputs{Survey: s}
	c.run(s.limited(ctx))
	c.r.Warnings = append(c.r.Warnings, c.in.Warnings...)
	c.r.OK = len(c.r.Problems) == 0
	return c.r
}

func (c *checker) problem(layer string, err error) {
	c.r.Problems = append(c.r.Problems, Problem{layer, strings.TrimSpace(err.Error())})
}

func (c *checker) run(ctx context.Context) {
	in := c.in
	if err := raster.Setup(); err != nil {
		c.problem("raster library", err)
		return
	}
	var err error
	if in.Profile, err = in.Survey.LoadProfile(); err != nil {
		c.problem("profile", err)
	} else if in.Curve, err = in.Profile.BankfullCurve(in.Survey.Curve); err != nil {
		c.problem("curve", err)
	}
	framed := false
	if err := in.openElevation(); err != nil {
		c.problem("elevation", err)
	} else if err := in.openArea(ctx); err != nil {
		c.problem("area", err)
	} else {
		framed = true
		c.frame()
		if _, err := in.withoutPage(); err != nil {
			c.problem("area", err)
		}
		c.elevation(ctx)
		c.area()
	}
	c.streams(ctx, framed)
	c.landCover(ctx, framed)
	c.more(ctx, framed)
}

func (c *checker) frame() {
	f := c.in.Frame
	w, s, e, n := f.Bounds()
	plan := planMemory(f, c.in.Survey)
	memory := plan.need + fixedMemory
	if plan.scratch != "" {
		memory = plan.budget
	}
	c.r.Frame = &CheckFrame{CRS: f.Name, EPSG: f.EPSG, Cell: f.Cell, Cols: f.W, Rows: f.H, Bounds: [4]float64{w, s, e, n},
		Why: c.in.FrameWhy, Memory: memory, Plan: plan.Text()}
}

func (c *checker) elevation(ctx context.Context) {
	in := c.in
	for _, e := range in.Elevation {
		r := rasterReport("elevation", e)
		r.Unit = in.UnitFrom
		covered := overlap(e.Bounds(), e.CRS.WKT, in.Frame)
		r.Covered = &covered
		r.Plan = append(r.Plan, c.landing(e, true))
		if in.Factor != 1 {
			r.Plan = append(r.Plan, in.UnitFrom)
		}
		c.r.Layers = append(c.r.Layers, r)
	}
	lo, hi, valid, err := c.heights(ctx)
	if err != nil {
		c.problem("elevation", err)
		return
	}
	last := &c.r.Layers[len(c.r.Layers)-1]
	if valid == 0 {
		c.problem("elevation", c.in.noHeight())
		return
	}
	last.Found = append(last.Found, fmt.Sprintf("heights %.1f to %.1f m on about %.1f %% of the frame", lo, hi, 100*valid))
	if valid < 0.98 {
		c.in.warn("elevation: about %.0f %% of the frame has no height; water that runs there counts as leaving the map", 100*(1-valid))
	}
	if strings.HasPrefix(in.UnitFrom, unitAssumed) {
		c.in.warn("elevation: the file does not say whether heights are in metres or feet, and only its ground coordinates are known to be in metres; "+
			"%.1f to %.1f are taken for metres, which is more than three times too high if they are feet: compare with a known height, then set elevation.unit to m or ft", lo, hi)
	}
}

// coarser is how many cells of the frame are one of the copy that a check is
// made on. Averaging takes memory with its square: at 16 about 67 MB a worker.
func coarser(f raster.Frame) int { return min(max(1, max(f.W, f.H)/400), 16) }

// heights looks at the elevation on a coarse copy of the frame.
func (c *checker) heights(ctx context.Context) (lo, hi, valid float64, err error) {
	f := c.in.Frame
	k := coarser(f)
	g := f
	g.Cell, g.W, g.H = f.Cell*float64(k), max(1, f.W/k), max(1, f.H/k)
	p, err := raster.NewPlane[float32](g.W, g.H, nil)
	if err != nil {
		return 0, 0, 0, err
	}
	if _, err := c.in.readElevation(ctx, g, 2, p, func(float64) {}); err != nil {
		return 0, 0, 0, err
	}
	lo, hi = math.Inf(1), math.Inf(-1)
	n := 0
	for _, v := range p.Mem() {
		if v == v {
			lo, hi = min(lo, float64(v)), max(hi, float64(v))
			n++
		}
	}
	return lo, hi, float64(n) / float64(len(p.Mem())), nil
}

func (c *checker) area() {
	info := c.in.AreaInfo
	if info == nil {
		return
	}
	r := vectorReport("area", *info)
	km2 := 0.0
	if g, ok := c.in.Area.(orb.MultiPolygon); ok {
		km2 = polygonArea(g) / 1e6
	}
	r.Found = append(r.Found, fmt.Sprintf("%.1f km²", km2))
	r.Plan = append(r.Plan, fmt.Sprintf("limits what is written; the ground is read %g m further out", c.in.Survey.Frame.Collar))
	c.r.Layers = append(c.r.Layers, r)
	if err := coversACell(c.in.Area, c.in.Frame); err != nil {
		c.problem("area", err)
	}
}

func (c *checker) streams(ctx context.Context, framed bool) {
	spec := c.in.Survey.Streams
	if len(spec.Path) == 0 {
		c.in.warn("streams: no layer named; channels are drawn where at least %g km² drains together", spec.ThresholdKm2)
		return
	}
	for _, path := range spec.Path {
		info, err := vector.Describe(path, spec.Layer, spec.CRS)
		if err != nil {
			c.problem("streams", err)
			continue
		}
		r := vectorReport("streams", info)
		plan, err := planStreams(spec, path)
		if err != nil {
			c.problem("streams", err)
			c.r.Layers = append(c.r.Layers, r)
			continue
		}
		for _, f := range []struct{ what, col string }{{"name", plan.fields.Name}, {"order", plan.fields.Order}, {"drainage area", plan.fields.Area}, {"code", plan.fields.Code}} {
			if f.col != "" {
				r.Plan = append(r.Plan, fmt.Sprintf("%s from %s", f.what, f.col))
			}
		}
		r.Plan = append(r.Plan, plan.rule)
		if spec.Where != "" {
			r.Plan = append(r.Plan, "only where "+spec.Where)
		}
		c.r.Layers = append(c.r.Layers, r)
	}
	if !framed || slices.ContainsFunc(c.r.Problems, func(p Problem) bool { return p.Layer == "streams" }) {
		return
	}
	n, err := readStreams(ctx, spec, c.in.Frame, nil, c.orderArea())
	if err != nil {
		c.problem("streams", err)
		return
	}
	last := &c.r.Layers[len(c.r.Layers)-1]
	last.Found = append(last.Found, fmt.Sprintf("%d lines on the map, %.1f km of cells", len(n.Reaches), float64(len(n.Cells))*c.in.Frame.Cell/1000))
	for _, d := range sortedCounts(n.Dropped) {
		last.Found = append(last.Found, "left out: "+d)
	}
	c.in.Warnings = append(c.in.Warnings, n.Warnings...)
}

// orderArea is the profile's, or nothing when the profile could not be read.
func (c *checker) orderArea() OrderArea {
	if c.in.Profile == nil {
		return OrderArea{}
	}
	return c.in.Profile.OrderArea
}

func (c *checker) landCover(ctx context.Context, framed bool) {
	in := c.in
	if len(in.Survey.LandCover.Path) == 0 {
		in.warn("land cover: no layer named; every kind of ground counts the same")
		return
	}
	if !framed {
		return
	}
	if err := in.openLandCover(ctx); err != nil {
		c.problem("land cover", err)
		for _, e := range in.LandCover {
			c.r.Layers = append(c.r.Layers, rasterReport("landcover", e))
		}
		return
	}
	for _, e := range in.LandCover {
		r := rasterReport("landcover", e)
		covered := overlap(e.Bounds(), e.CRS.WKT, in.Frame)
		r.Covered = &covered
		r.Plan = append(r.Plan, c.landing(e, false))
		c.r.Layers = append(c.r.Layers, r)
	}
	codes, err := in.CoverCodes(ctx)
	if err != nil {
		c.problem("land cover", err)
		return
	}
	last := &c.r.Layers[len(c.r.Layers)-1]
	how := "as the survey file says"
	if in.Cover.guessed {
		how = "the only named legend that knows every code found"
	}
	last.Plan = append(last.Plan, fmt.Sprintf("legend %s, %s", in.Cover.Legend.Name, how))
	warning, err := in.Cover.Legend.Check(codes, in.Cover.unknown)
	if err != nil {
		c.problem("land cover", err)
	}
	if warning != "" {
		in.warn("%s", warning)
	}
	last.Found = append(last.Found, classShares(in.Cover.Legend, codes)...)
}

// landing says what will be done with a raster, before it is done.
func (c *checker) landing(e raster.Info, smooth bool) string {
	f := c.in.Frame
	how := raster.Landing(e, f, smooth)
	if len(c.in.Elevation) > 1 && smooth {
		how += ", with the other tiles"
	}
	return how
}

// Text is the report for a person.
func (r CheckReport) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", r.Survey)
	for _, l := range r.Layers {
		fmt.Fprintf(&b, "\n%s: %s\n", l.Role, l.Path)
		line := func(label, text string) { wrapInto(&b, fmt.Sprintf("  %-9s", label), text) }
		driver := l.Driver
		if l.Layer != "" {
			driver += ", layer " + l.Layer
		}
		line("format", driver)
		crs := l.CRS
		if l.EPSG != 0 {
			crs += fmt.Sprintf(" (EPSG:%d)", l.EPSG)
		} else {
			crs += " (no code)"
		}
		line("crs", crs)
		line("size", l.Size)
		if l.Cell != "" {
			line("cell", l.Cell)
		}
		line("extent", fmt.Sprintf("%.6g to %.6g east, %.6g to %.6g north", l.Extent[0], l.Extent[2], l.Extent[1], l.Extent[3]))
		if l.Unit != "" {
			line("heights", l.Unit)
		}
		if l.Covered != nil {
			line("covers", fmt.Sprintf("%.1f %% of the map", 100**l.Covered))
		}
		for _, f := range l.Found {
			line("found", f)
		}
		for _, p := range l.Plan {
			line("plan", p)
		}
	}
	if f := r.Frame; f != nil {
		fmt.Fprintf(&b, "\nmap: %d × %d cells of %g m, %s (%s)\n", f.Cols, f.Rows, f.Cell, f.CRS, f.Why)
		wrapInto(&b, "  ", f.Plan)
	}
	if len(r.Warnings) > 0 {
		b.WriteString("\n")
		for _, w := range r.Warnings {
			wrapInto(&b, "  note     ", w)
		}
	}
	b.WriteString("\n")
	for _, p := range r.Problems {
		wrapInto(&b, "  problem  ", p.Layer+": "+p.Text)
	}
	if r.OK {
		b.WriteString("Ready to map.\n")
	} else {
		b.WriteString("This survey cannot run yet.\n")
	}
	return b.String()
}
