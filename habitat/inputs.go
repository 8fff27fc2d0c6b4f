package habitat

import (
	"context"
	"fmt"
	"math"
	"os"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/habitat/evidence"
	"rillwood/raster"
	"rillwood/vector"
)

// Inputs is a survey with its layers opened and looked at, and the frame they
// will land on.
type Inputs struct {
	Survey   *Survey
	Profile  *Profile
	Curve    Bankfull
	Frame    raster.Frame
	FrameWhy string
	Factor   float64 // metres per unit of the elevation
	UnitFrom string  // where that is known from

	Elevation []raster.Info
	LandCover []raster.Info
	Cover     *coverPlan   // nil = no land cover
	Area      orb.Geometry // frame CRS, nil = the whole elevation
	AreaInfo  *vector.Info

	Warnings []string

	elevation, landcover raster.Source
	hostRasters          [][]string // files of each raster of the inventory
}

// OpenInputs opens the layers of a survey.
func OpenInputs(ctx context.Context, s *Survey) (*Inputs, error) {
	if err := raster.Setup(); err != nil {
		return nil, err
	}
	in := &Inputs{Survey: s}
	var err error
	if in.Profile, err = s.LoadProfile(); err != nil {
		return nil, err
	}
	if in.Curve, err = in.Profile.BankfullCurve(s.Curve); err != nil {
		return nil, err
	}
	if err := in.openElevation(); err != nil {
		return nil, err
	}
	if err := in.openArea(ctx); err != nil {
		return nil, err
	}
	if err := in.openLandCover(ctx); err != nil {
		return nil, err
	}
	if err := in.openLayers(); err != nil {
		return nil, err
	}
	for _, p := range s.Streams.Path {
		if _, err := planStreams(s.Streams, p); err != nil {
			return nil, err
		}
	}
	return in, nil
}

func (in *Inputs) openElevation() error {
	spec := in.Survey.Elevation
	paths, err := raster.Expand(spec.Path)
	if err != nil {
		return fmt.Errorf("elevation: %w", err)
	}
	in.elevation = raster.Source{Paths: paths, CRS: spec.CRS, NoData: spec.Nodata}
	for _, p := range paths {
		i, err := raster.Describe(p, spec.CRS)
		if err != nil {
			return fmt.Errorf("elevation: %w", err)
		}
		if spec.Nodata != nil {
			i.NoData = spec.Nodata
		}
		if strings.HasPrefix(i.Type, "C") {
			return wrong("elevation", "%q holds %s cells", p, i.Type)
		}
		factor, from, err := verticalFactor(spec, i)
		if err != nil {
			return err
		}
		if len(in.Elevation) > 0 && factor != in.Factor {
			return wrong("elevation", "%q has another height unit than %q; name one with unit, or survey them apart", p, paths[0])
		}
		in.Factor, in.UnitFrom = factor, from
		for _, w := range i.Warning {
			in.warn("elevation %q: %s", p, w)
		}
		in.Elevation = append(in.Elevation, i)
	}
	return nil
}

func (in *Inputs) openArea(ctx context.Context) error {
	s := in.Survey
	var box *[4]float64
	var wkt string
	if s.Area.Path != "" {
		info, err := vector.Describe(s.Area.Path, s.Area.Layer, s.Area.CRS)
		if err != nil {
			return fmt.Errorf("area: %w", err)
		}
		in.AreaInfo = &info
		l, err := vector.Read(ctx, vector.Query{Path: s.Area.Path, Layer: s.Area.Layer, Where: s.Area.Where, CRS: s.Area.CRS, Kind: vector.Polygons}, raster.WGS84())
		if err != nil {
			return fmt.Errorf("area: %w", err)
		}
		var all orb.MultiPolygon
		for _, f := range l.Features {
			switch g := f.Geometry.(type) {
			case orb.Polygon:
				all = append(all, g)
			case orb.MultiPolygon:
				all = append(all, g...)
			default:
				return wrong("area", "%q holds a %s; polygons are wanted", s.Area.Path, g.GeoJSONType())
			}
		}
		if len(all) == 0 {
			return wrong("area", "%q gives no polygon; check area.layer and area.where", s.Area.Path)
		}
		for _, w := range l.Warnings {
			in.warn("area: %s", w)
		}
		b := all.Bound()
		box, wkt = &[4]float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]}, raster.WGS84()
		in.Area = all
	}
	var err error
	in.Frame, in.FrameWhy, err = chooseFrame(s.Frame, in.Elevation, box, wkt)
	if err != nil {
		return naming(err, "area", s.Area.Path)
	}
	if ha := in.Frame.CellHa(); ha > s.Shortlist.MaxHa {
		return wrong("shortlist.max_ha", "%g ha is less than one cell of the map (%g m, %.4g ha, from %q); raise it, or take smaller cells with frame.cell", s.Shortlist.MaxHa, in.Frame.Cell, ha, in.Elevation[0].Path)
	}
	if in.Area == nil {
		return nil
	}
	to, err := vector.FromWGS84(in.Frame.WKT)
	if err != nil {
		return fmt.Errorf("area: %w", err)
	}
	in.Area, err = to.Geometry(in.Area)
	if err != nil {
		return fmt.Errorf("area: %w", err)
	}
	return nil
}

func (in *Inputs) openLandCover(ctx context.Context) error {
	spec := in.Survey.LandCover
	if len(spec.Path) == 0 {
		return nil
	}
	paths, err := raster.Expand(spec.Path)
	if err != nil {
		return fmt.Errorf("land cover: %w", err)
	}
	in.landcover = raster.Source{Paths: paths, CRS: spec.CRS}
	if spec.Nodata != nil {
		nd := float64(*spec.Nodata)
		in.landcover.NoData = &nd
	}
	for _, p := range paths {
		i, err := raster.Describe(p, spec.CRS)
		if err != nil {
			return fmt.Errorf("land cover: %w", err)
		}
		if strings.HasPrefix(i.Type, "Float") {
			in.warn("land cover %q holds %s cells; codes are read as whole numbers", p, i.Type)
		}
		for _, w := range i.Warning {
			in.warn("land cover %q: %s", p, w)
		}
		in.LandCover = append(in.LandCover, i)
	}
	in.Cover = &coverPlan{unknown: spec.Unknown}
	if spec.Legend != "" && spec.Legend != "auto" {
		if in.Cover.Legend, err = LoadLegend(spec.Legend); err != nil {
			return err
		}
	} else {
		codes, err := in.CoverCodes(ctx)
		if err != nil {
			return err
		}
		if len(codes) == 0 {
			return wrong("landcover", "%q holds no class inside the map; check that it covers the same ground as the elevation", in.LandCover[0].Path)
		}
		if in.Cover.Legend, err = GuessLegend(codes); err != nil {
			return err
		}
		in.Cover.guessed = true
	}
	in.Cover.prepare()
	return nil
}

// CoverCodes counts the land-cover codes inside the frame, on the layer's own cells.
func (in *Inputs) CoverCodes(ctx context.Context) (map[int]int64, error) {
	w, s, e, n := in.Frame.Bounds()
	codes, err := raster.Codes(ctx, in.landcover, &[4]float64{w, s, e, n}, in.Frame.WKT)
	if err != nil {
		return nil, fmt.Errorf("land cover: %w", err)
	}
	return codes, nil
}

// openLayers looks, before any work is done, whether the further layers are
// there and the profile has what they need.
func (in *Inputs) openLayers() error {
	s := in.Survey
	b := &in.Profile.Bottomland
	if s.Evidence.ValleyFlatness && !b.Flatness.given() {
		return wrong("evidence.valley_flatness", "profile %s has no bottomland.flatness (intercept, weight_slope, weight, least, most); add it, or leave the line out", in.Profile.Name)
	}
	if len(s.evidenceLayers()) > 0 && b.Evidence == (evidence.Rule{}) {
		return wrong("evidence", "profile %s has no bottomland.evidence (temper, cap, certainty); add it, or leave the layers out", in.Profile.Name)
	}
	for _, l := range s.layers() {
		if _, err := os.Stat(l.spec.Path); err != nil {
			return wrong(l.field+".path", "%q cannot be opened: no such file or folder", l.spec.Path)
		}
	}
	for i, r := range s.Inventory.Rasters {
		field := at("inventory.rasters", i)
		if _, ok := in.Profile.Host(r.Host); !ok {
			ids := make([]string, len(in.Profile.Hosts))
			for k, h := range in.Profile.Hosts {
				ids[k] = h.ID
			}
			return wrong(field+".host", "%q is no host of profile %s; %s", oneLine(r.Host), in.Profile.Name, suggest(r.Host, ids))
		}
		paths, err := raster.Expand(r.Path)
		if err != nil {
			return fmt.Errorf("%s: %w", field, err)
		}
		in.hostRasters = append(in.hostRasters, paths)
	}
	for _, e := range s.evidenceLayers() {
		if _, err := e.source(in.Frame, in); err != nil {
			return err
		}
	}
	for i, k := range s.KeepOut {
		if k.Path != "" {
			if _, err := k.barrier(at("keep_out", i), in.Frame); err != nil {
				return err
			}
		}
	}
	return nil
}

func (in *Inputs) warnAll(field string, warnings []string) {
	for _, w := range warnings {
		in.warn("%s: %s", field, w)
	}
}

func (in *Inputs) warn(format string, args ...any) {
	in.Warnings = append(in.Warnings, fmt.Sprintf(format, args...))
}

// coverPlan is how land-cover codes are understood.
type coverPlan struct {
	Legend  *Legend
	guessed bool
	unknown string // stop or neutral
	index   [65536]uint8
	warning string
	found   map[int]int64 // codes on the frame, cells
}

func (c *coverPlan) prepare() {
	for code := range c.index {
		c.index[code] = NoClass
		if slot, ok := c.Legend.Slot(code); ok {
			c.index[code] = slot
		}
	}
}

// settle looks at the codes found on the frame.
func (c *coverPlan) settle(path string, counts []int64) error {
	c.found = map[int]int64{}
	for code, n := range counts {
		if n > 0 {
			c.found[code] = n
		}
	}
	if len(c.found) == 0 {
		return wrong("landcover", "%q holds no class inside the map; check that it covers the same ground as the elevation", path)
	}
	var err error
	c.warning, err = c.Legend.Check(c.found, c.unknown)
	return err
}

// nodataText says what stands for no data in a raster.
func nodataText(in raster.Info) string {
	if in.NoData == nil {
		return "no nodata value declared"
	}
	if math.IsNaN(*in.NoData) {
		return "nodata NaN"
	}
	return fmt.Sprintf("nodata %g", *in.NoData)
}
