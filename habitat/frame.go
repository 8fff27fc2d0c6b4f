package habitat

import (
	"fmt"
	"math"
	"strings"

	"rillwood/raster"
)

const metresPerUSFoot = 1200.0 / 3937.0 // US survey foot: Mendenhall order, 1893

// unitAssumed begins the words for a unit that neither file nor survey gives.
const unitAssumed = "taken for metres"

// verticalFactor gives metres per unit of the elevation and where that is
// known from.
func verticalFactor(spec ElevationSpec, in raster.Info) (factor float64, from string, err error) {
	switch spec.Unit {
	case "m":
		return 1, "metres, as the survey file says", nil
	case "ft":
		return metresPerFoot, "feet to metres (× 0.3048), as the survey file says", nil
	case "us-ft":
		return metresPerUSFoot, "US survey feet to metres (× 0.3048006), as the survey file says", nil
	}
	switch normalUnit(in.Unit) {
	case "m":
		return 1, "metres, as the file declares", nil
	case "ft":
		return metresPerFoot, "feet to metres (× 0.3048), as the file declares", nil
	case "us-ft":
		return metresPerUSFoot, "US survey feet to metres (× 0.3048006), as the file declares", nil
	case "":
		if in.CRS.Projected && math.Abs(in.CRS.Unit-1) > 1e-3 {
			return 0, "", wrong("elevation.unit", "%q has a coordinate system in %s and does not say the unit of its heights; set unit: m, ft or us-ft", in.Path, in.CRS.UnitName)
		}
		return 1, unitAssumed + ": the file does not say", nil
	}
	return 0, "", wrong("elevation.unit", "%q declares heights in %q, which is not known; set unit: m, ft or us-ft", in.Path, in.Unit)
}

// normalUnit reads the unit a band declares.
func normalUnit(unit string) string {
	switch strings.ToLower(strings.TrimSpace(unit)) {
	case "":
		return ""
	case "m", "metre", "meter", "metres", "meters":
		return "m"
	case "ft", "foot", "feet", "international foot":
		return "ft"
	case "us-ft", "us survey foot", "us survey feet", "ftus", "foot_us", "us_survey_foot", "survey foot":
		return "us-ft"
	}
	return "?"
}

// chooseFrame picks the grid of a run. area is the bounding box of the area
// polygon in areaWKT, nil for the whole elevation. why tells what was chosen.
func chooseFrame(spec FrameSpec, infos []raster.Info, area *[4]float64, areaWKT string) (f raster.Frame, why string, err error) {
	first := infos[0]
	crs, why, err := chooseCRS(spec, first)
	if err != nil {
		return f, "", err
	}
	var all [4]float64
	for i, in := range infos {
		b, err := raster.TransformBounds(in.Bounds(), in.CRS.WKT, crs.WKT)
		if err != nil {
			return f, "", fmt.Errorf("%q: %w", in.Path, err)
		}
		if i == 0 {
			all = b
		}
		all = [4]float64{min(all[0], b[0]), min(all[1], b[1]), max(all[2], b[2]), max(all[3], b[3])}
	}
	own := raster.SameCRS(first.CRS.WKT, crs.WKT) && first.NorthUp()
	cell := spec.Cell
	if cell == 0 {
		if own {
			cell = math.Sqrt(first.Geo[1] * -first.Geo[5])
		} else {
			b, err := raster.TransformBounds(first.Bounds(), first.CRS.WKT, crs.WKT)
			if err != nil {
				return f, "", fmt.Errorf("%q: %w", first.Path, err)
			}
			cell = math.Sqrt((b[2] - b[0]) * (b[3] - b[1]) / (float64(first.W) * float64(first.H)))
			// A round size nearby: a thirtieth of a degree-second is no length
			// to walk by.
			cell = roundCell(cell)
		}
	}
	if !(cell > 0) {
		return f, "", wrong("frame.cell", "no cell size could be found; set it in metres")
	}
	b := all
	if area != nil {
		a, err := raster.TransformBounds(*area, areaWKT, crs.WKT)
		if err != nil {
			return f, "", fmt.Errorf("area: %w", err)
		}
		b = [4]float64{max(b[0], a[0]-spec.Collar), max(b[1], a[1]-spec.Collar), min(b[2], a[2]+spec.Collar), min(b[3], a[3]+spec.Collar)}
		if a[2] <= all[0] || a[0] >= all[2] || a[3] <= all[1] || a[1] >= all[3] {
			return f, "", wrong("area", "lies outside the elevation: area %s, elevation %s (%s)", boxText(a), boxText(all), crs.Name)
		}
	}
	ox, oy := 0.0, 0.0
	if own && math.Abs(cell-first.Geo[1]) < 1e-9*cell && math.Abs(cell+first.Geo[5]) < 1e-9*cell {
		ox, oy = math.Mod(first.Geo[0], cell), math.Mod(first.Geo[3], cell)
		why += ", on its own grid"
	}
	const slack = 1e-6
	f = raster.Frame{Cell: cell, WKT: crs.WKT, EPSG: crs.EPSG, Name: crs.Name}
	f.X0 = math.Floor((b[0]-ox)/cell+slack)*cell + ox
	f.Y0 = math.Ceil((b[3]-oy)/cell-slack)*cell + oy
	f.W = int(math.Ceil((b[2]-f.X0)/cell - slack))
	f.H = int(math.Ceil((f.Y0-b[1])/cell - slack))
	if f.W < 1 || f.H < 1 {
		return f, "", wrong("frame.cell", "%g m is larger than the whole area", cell)
	}
	if wide := max(float64(f.W), float64(f.H)) * cell; wide > earthRound/2 {
		return f, "", wrong("elevation", "%q makes a map %.0f km across, more than half the way round the earth; the file lies about its size, place or coordinate system", first.Path, wide/1000)
	}
	if float64(f.W)*float64(f.H) > 4e9 {
		return f, "", wrong("frame.cell", "%g m makes a map of %d × %d cells, more than the 4e9 that are taken; use larger cells or a smaller area", cell, f.W, f.H)
	}
	return f, why, nil
}

// earthRound is the earth's meridian circumference, metres (WGS 84).
const earthRound = 40_007_863

func chooseCRS(spec FrameSpec, first raster.Info) (crs raster.CRS, why string, err error) {
	metric := first.CRS.Projected && math.Abs(first.CRS.Unit-1) < 1e-6
	switch spec.CRS {
	case "", "auto":
		if metric {
			return first.CRS, "the elevation's own coordinate system", nil
		}
		why = "UTM zone of the elevation's middle"
	case "utm":
		why = "UTM zone of the elevation's middle, as asked"
	case "elevation":
		if !metric {
			return crs, "", wrong("frame.crs", "the elevation's own system (%s) is not in metres; use utm or EPSG:number", first.CRS.Name)
		}
		return first.CRS, "the elevation's own coordinate system, as asked", nil
	default:
		crs, err = raster.ParseCRS(spec.CRS)
		if err != nil {
			return crs, "", wrong("frame.crs", "%v", err)
		}
		if !crs.Projected || math.Abs(crs.Unit-1) > 1e-6 {
			return crs, "", wrong("frame.crs", "%s (%s) is not a projected system in metres", spec.CRS, crs.Name)
		}
		return crs, "as asked", nil
	}
	b := first.Bounds()
	g, err := raster.TransformBounds(b, first.CRS.WKT, raster.WGS84())
	if err != nil {
		return crs, "", fmt.Errorf("%q: %w", first.Path, err)
	}
	crs, err = raster.UTM((g[0]+g[2])/2, (g[1]+g[3])/2)
	if err != nil {
		return crs, "", wrong("frame.crs", "%q: %v", first.Path, err)
	}
	return crs, why, nil
}

// roundCell rounds a cell size to two figures, in steps a person would choose.
func roundCell(c float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(c)))
	m := math.Round(c/p*2) / 2
	return m * p
}

func boxText(b [4]float64) string {
	return fmt.Sprintf("%.0f…%.0f E %.0f…%.0f N", b[0], b[2], b[1], b[3])
}
