package inventory

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"sync/atomic"

	"rillwood/raster"
)

// RasterSource is a raster that measures one host.
type RasterSource struct {
	Host    string // id in the profile
	Source  raster.Source
	Measure string  // basal-area, likelihood (0 to 1) or trees-ha
	Unit    string  // of basal-area: m2/ha or ft2/ac
	StemCm  float64 // quadratic mean diameter that turns basal area into stems; 0 means 30
	BlendM  float64 // over how many metres inside its border, and around its gaps, the weight falls to 0; 0 means 2 cells, negative none
}

const (
	defaultStemCm    = 30 // common practice, no source
	rasterBlendCells = 2  // common practice, no source

	// No stand has more basal area than this, redwoods apart: closed hardwoods
	// of bottoms hold 20 to 50 m²/ha (from memory). More is a wrong unit.
	mostBasalM2Ha = 100

	// One square foot (0.09290304 m²) per acre (0.40468564224 ha), in m²/ha; the
	// international foot, exact by definition.
	ft2PerAcre = 0.09290304 / 0.40468564224
)

// StemsPerHa is how many stems of a quadratic mean diameter (cm) make up a basal
// area (m²/ha): the definition of both (any forest mensuration handbook).
func StemsPerHa(basalM2Ha, stemCm float64) float64 {
	d := stemCm / 100
	return basalM2Ha / (math.Pi / 4 * d * d)
}

// factor turns the raster's numbers into trees per hectare. most is the largest
// number that may stand in it.
func (s RasterSource) factor(h Host) (factor, most float64, err error) {
	most = 40000 // what the reader takes for a number at all
	if s.Unit != "" && s.Measure != "basal-area" {
		return 0, 0, fmt.Errorf("unit: found %q; only basal-area has one", s.Unit)
	}
	switch s.Measure {
	case "trees-ha":
		return 1, most, nil
	case "likelihood":
		return h.DensityHa, 1, nil
	case "basal-area":
		stem := s.StemCm
		setDefault(&stem, defaultStemCm)
		if !(stem >= 1 && stem <= maxDiameterCm) {
			return 0, 0, fmt.Errorf("stem diameter: found %g; give 1 to %d cm", s.StemCm, maxDiameterCm)
		}
		factor = StemsPerHa(1, stem)
		switch s.Unit {
		case "m2/ha":
			return factor, most, nil
		case "ft2/ac":
			return factor * ft2PerAcre, most, nil
		}
		return 0, 0, fmt.Errorf("unit: found %q; give m2/ha or ft2/ac", s.Unit)
	}
	return 0, 0, fmt.Errorf("measure: found %q; give basal-area, likelihood or trees-ha", s.Measure)
}

// slack is how far a likelihood may pass 1 by rounding.
const slack = 1e-4

// ReadRaster lands a raster that measures one host on the frame. Cells without
// data, and negative numbers, are not measured: weight 0. A likelihood is
// multiplied by the host's full density; one above 1 is an error, since it is
// percent or another measure. The strings are what to tell the user. The result
// does not depend on workers or scratch.
func ReadRaster(ctx context.Context, s RasterSource, hosts []Host, f raster.Frame, scratch *raster.Scratch, workers int) (Measured, []string, error) {
	path := ""
	if len(s.Source.Paths) > 0 {
		path = s.Source.Paths[0]
	}
	fail := func(err error) (Measured, []string, error) {
		return Measured{}, nil, fmt.Errorf("measured trees, %q: %w", path, err)
	}
	if err := checkHosts(hosts); err != nil {
		return fail(err)
	}
	host := -1
	for i, h := range hosts {
		if h.ID == s.Host {
			host = i
		}
	}
	if host < 0 {
		return fail(fmt.Errorf("host: %q is no host of the profile; it has %s", s.Host, hostIDs(hosts)))
	}
	factor, most, err := s.factor(hosts[host])
	if err != nil {
		return fail(err)
	}
	blend := s.BlendM
	setDefault(&blend, rasterBlendCells*f.Cell)
	if blend = max(blend, 0); !(blend <= maxRadius*f.Cell) {
		return fail(fmt.Errorf("blend: found %g; give up to %g m", s.BlendM, maxRadius*f.Cell))
	}
	pad := int(math.Ceil(blend/f.Cell)) + 2
	e := &extent{frame: f.Cut(-pad, -pad, f.W+2*pad, f.H+2*pad), dx: pad, dy: pad}
	values, err := raster.NewPlane[float32](e.frame.W, e.frame.H, scratch.Cold())
	if err != nil {
		return fail(err)
	}
	defer values.Close()
	var absurd atomic.Int64
	s.Source.Absurd = &absurd
	how, err := raster.ReadSurface(ctx, s.Source, e.frame, 1, workers, values, func(float64) {})
	if err != nil {
		return fail(err)
	}
	l := landed{values: values, extent: e, factor: factor, most: most, path: path, absurd: absurd.Load(), dense: math.Inf(1)}
	if s.Measure == "basal-area" {
		if l.dense = mostBasalM2Ha; s.Unit == "ft2/ac" {
			l.dense /= ft2PerAcre
		}
	}
	m, notes, err := l.measure(ctx, f, blend, scratch, workers)
	if err != nil {
		return fail(err)
	}
	m.Host, m.From = host, fmt.Sprintf("%s, %s, %s", filepath.Base(path), s.Measure, how)
	return m, notes, nil
}

// landed is a raster on the extent's cells, NaN where there is none.
type landed struct {
	*extent
	values       *raster.Plane[float32]
	factor, most float64
	dense        float64 // basal area above it is doubted, in the raster's own unit
	absurd       int64   // cells whose number the reader dropped
	path         string
}

func (l landed) measure(ctx context.Context, f raster.Frame, blendM float64, scratch *raster.Scratch, workers int) (m Measured, notes []string, err error) {
	if l.outside, err = raster.NewPlane[uint8](l.frame.W, l.frame.H, scratch.Cold()); err != nil {
		return m, nil, err
	}
	defer l.outside.Close()
	if m.TreesHa, err = raster.NewPlane[uint16](f.W, f.H, scratch); err != nil {
		return m, nil, err
	}
	var negative, full, dense atomic.Int64
	err = raster.Parallel(ctx, workers, (l.frame.H+bandRows-1)/bandRows, func(_, i int) error {
		y := i * bandRows
		h := min(bandRows, l.frame.H-y)
		v, out := make([]float32, l.frame.W*h), make([]uint8, l.frame.W*h)
		if err := l.values.Read(0, y, l.frame.W, h, v); err != nil {
			return err
		}
		trees := make([]uint16, f.W)
		for r := range h {
			row := v[r*l.frame.W : (r+1)*l.frame.W]
			for x, n := range row {
				if n < 0 {
					negative.Add(1)
				}
				if !(n >= 0) {
					out[r*l.frame.W+x] = 1
				}
			}
			fy := y + r - l.dy
			if fy < 0 || fy >= f.H {
				continue
			}
			for x, n := range row[l.dx : l.dx+f.W] {
				if trees[x] = 0; !(n >= 0) {
					continue
				}
				if float64(n) > l.most*(1+slack) {
					return fmt.Errorf("a likelihood of %g at column %d, row %d of the map; it runs from 0 to 1: divide percents by 100, or name the right measure", n, x, fy)
				}
				if float64(n) > l.dense {
					dense.Add(1)
				}
				var cut bool
				if trees[x], cut = storeTrees(min(float64(n), l.most) * l.factor); cut {
					full.Add(1)
				}
			}
			if err := m.TreesHa.Write(0, fy, f.W, 1, trees); err != nil {
				return err
			}
		}
		return l.outside.Write(0, y, l.frame.W, h, out)
	})
	if err == nil {
		m.Weight, m.Cells, err = l.weigh(ctx, f, blendM, scratch, workers)
	}
	if err != nil {
		m.TreesHa.Close()
		return Measured{}, nil, err
	}
	name := filepath.Base(l.path)
	if n := negative.Load(); n > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d cells below 0 are taken as not measured; if that is how it marks them, name it as nodata", name, n))
	}
	if l.absurd > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d cells hold no usable number (infinite, or beyond ±40,000) and are taken as not measured; if that is how it marks them, name it as nodata", name, l.absurd))
	}
	if n := dense.Load(); n > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d cells hold a basal area above %.0f (%d m²/ha), more than any stand of these woods has: check its unit", name, n, l.dense, mostBasalM2Ha))
	}
	if n := full.Load(); n > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d cells hold more than the %d trees per hectare that are kept", name, n, 65535/TreesUnit))
	}
	if m.Cells == 0 {
		notes = append(notes, name+": measures nothing on the map")
	}
	return m, notes, nil
}
