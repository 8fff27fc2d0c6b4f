// Package inventory turns measured host trees into planes that override the
// modelled density where something was measured: rasters of basal area,
// likelihood or stems, and records of single trees smoothed by a Gaussian
// kernel. Each comes with a weight, 1 where the measurement rules and 0 where
// the model does, and records with a status may raise the share of dead and
// dying trees.
//
// A density says how many trees to expect, not what grows on them, and nothing
// here says what is safe to eat.
//
// Imports: raster, raster/region and vector. Densities are trees per hectare,
// distances metres, diameters centimetres.
package inventory

import (
	"math"

	"rillwood/raster"
)

// Steps of the stored planes: stored = value × unit, rounded.
const (
	TreesUnit  = 32  // trees per hectare; the most is 65535/32 = 2047
	ShareUnit  = 250 // dead share
	WeightUnit = 250
	// ShareProfile in a dead share plane means: the profile's own share.
	ShareProfile = 255
)

// Host is what must be known of one host of the profile.
type Host struct {
	ID, Common, Scientific string
	FIA                    int     // species code of the US forest inventory, 0 for none
	DensityHa              float64 // full density on good ground, trees per hectare
	DeadShare              float64 // dead or dying among them, 0 to 1
}

// Measured is one host as measured, on the frame it was read for.
type Measured struct {
	Host      int                   // position in the hosts given
	TreesHa   *raster.Plane[uint16] // × TreesUnit
	DeadShare *raster.Plane[uint8]  // × ShareUnit, ShareProfile for the profile's; nil: the profile's everywhere
	Weight    *raster.Plane[uint8]  // × WeightUnit; all hosts of one ReadTrees share one plane
	From      string                // which file, for the run record
	Records   int                   // tree records behind it, 0 for a raster
	Cells     int64                 // cells of the frame with a weight above 0
}

// Close frees the planes of all of them; one that several share is no trouble.
func Close(all []Measured) {
	for _, m := range all {
		m.TreesHa.Close()
		m.DeadShare.Close()
		m.Weight.Close()
	}
}

// Trees blends a stored density with the modelled one (trees per hectare).
func Trees(modelHa float64, stored uint16, weight uint8) float64 {
	w := float64(weight) / WeightUnit
	return w*float64(stored)/TreesUnit + (1-w)*modelHa
}

// Share blends a stored dead share with the profile's.
func Share(profile float64, stored, weight uint8) float64 {
	if stored == ShareProfile {
		return profile
	}
	w := float64(weight) / WeightUnit
	return w*float64(stored)/ShareUnit + (1-w)*profile
}

// storeTrees is trees per hectare as stored; full tells that it was cut off.
func storeTrees(perHa float64) (stored uint16, full bool) {
	v := math.Round(perHa * TreesUnit)
	if v > math.MaxUint16 {
		return math.MaxUint16, true
	}
	return uint16(max(v, 0)), false
}

// storeWeight is the weight of a cell distM metres inside the border, rising
// smoothly (3t² − 2t³, no kink at either end) over blendM metres.
func storeWeight(distM, blendM float64) uint8 {
	if distM <= 0 {
		return 0
	}
	if distM >= blendM {
		return WeightUnit
	}
	t := distM / blendM
	return uint8(math.Round(WeightUnit * t * t * (3 - 2*t)))
}
