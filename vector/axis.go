package vector

import (
	"fmt"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// turned gives a box with x and y changed over.
func turned(b [4]float64) [4]float64 { return [4]float64{b[1], b[0], b[3], b[2]} }

func boxesMeet(a, b [4]float64) bool {
	return a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]
}

// looksSwapped judges the extent of a layer in degrees: why its coordinates
// must be latitude before longitude, "" when nothing tells.
func looksSwapped(extent [4]float64, epsg int) string {
	if extent[0] >= -90 && extent[2] <= 90 && extent[1] >= -360 && extent[3] <= 360 && (extent[1] < -90 || extent[3] > 90) {
		return "latitudes end at 90"
	}
	area, ok := areaOfUse(epsg)
	if !ok {
		return ""
	}
	areas := [][4]float64{area}
	if area[0] > area[2] { // over the antimeridian
		areas = [][4]float64{{area[0], area[1], 180, area[3]}, {-180, area[1], area[2], area[3]}}
	}
	within := false
	for _, a := range areas {
		if boxesMeet(extent, a) {
			return ""
		}
		s := turned(extent)
		within = within || s[0] >= a[0] && s[1] >= a[1] && s[2] <= a[2] && s[3] <= a[3]
	}
	if !within {
		return ""
	}
	return "its crs is made for another part of the world"
}

// checkAxes refuses a layer in degrees whose latitudes stand first.
func (r *reader) checkAxes() error {
	if !r.layer.spatial || r.info.WKT == "" {
		return nil
	}
	// A system raster does not describe has told so when it was needed.
	crs, err := raster.DescribeCRS(r.info.WKT)
	r.degrees = err == nil && !crs.Projected
	e, ok := r.extent()
	if !r.degrees || !ok {
		return nil
	}
	if why := looksSwapped(e, r.info.EPSG); why != "" {
		return fmt.Errorf("coordinates look swapped, latitude before longitude: x from %g to %g and y from %g to %g, but %s; %s", e[0], e[2], e[1], e[3], why, r.remedy())
	}
	return nil
}

// extent is that of the layer's coordinates as they are understood; ok is
// false when the file has none that can be used.
func (r *reader) extent() (e [4]float64, ok bool) {
	e = r.info.Extent
	if r.query.Swap {
		e = turned(e)
	}
	ok = e != [4]float64{} && e[0] <= e[2] && e[1] <= e[3] && finite([]orb.Point{{e[0], e[1]}, {e[2], e[3]}})
	return e, ok
}

func (r *reader) remedy() string {
	if r.query.Swap {
		return "take swap: true away from it, or name the crs it is in"
	}
	return "set swap: true for it, or name the crs it is in"
}

// away tells whether the whole layer lies away from the query's bounds, and
// whether it would meet them with x and y changed over. Without a known extent
// both are false.
func (r *reader) away() (away, swapped bool) {
	e, ok := r.extent()
	if !ok {
		return false, false
	}
	meets := func(e [4]float64) bool {
		if r.move != nil {
			var err error
			if e, err = r.move.Bounds(e); err != nil {
				return false
			}
		}
		return boxesMeet(e, *r.query.Bounds)
	}
	if meets(e) {
		return false, false
	}
	return true, meets(turned(e))
}
