package results

import (
	"github.com/paulmach/orb"

	"rillwood/raster"
)

// Ground is a piece of the map as pictures need it, row by row from the north.
type Ground struct {
	W, H        int
	Suitability []float32 // 0 to 1, NaN = not mapped
	Relief      []float32 // light, 0 (shade) to 1, NaN = none; nil when the run has no relief.tif
	// Bound is the outer edge of the cells: Web Mercator metres (EPSG:3857)
	// for Overview, the frame's grid for Crop.
	Bound orb.Bound
	Frame raster.Frame // of Crop
}

// Bin is how much ground has a suitability of From to To.
type Bin struct{ From, To, Ha float64 }

// AccessArea is ground of one access status.
type AccessArea struct {
	Status string
	Shape  orb.MultiPolygon
}
