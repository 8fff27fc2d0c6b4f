package field

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// metresPerDegree is the length of a degree of latitude on a sphere of the
// Earth's mean radius, 6371008.8 m (IUGG).
const metresPerDegree = 6371008.8 * math.Pi / 180

// Blur limits, in metres.
const (
	minBlur = 10
	maxBlur = 200_000
)

// checkBlur judges the side of a blur's cells.
func checkBlur(metres float64) error {
	if metres != 0 && !(metres >= minBlur && metres <= maxBlur) {
		return fmt.Errorf("blur of %g m: want %d to %d, or 0 for none", metres, minBlur, maxBlur)
	}
	return nil
}

// Blur moves a place, WGS 84, to the middle of its cell in a fixed grid with cells
// of about the given side in metres: bands of latitude, each parted into whole
// cells around the globe. All places of a cell come out at the same point,
// at any time and from any store, so that copies cannot be averaged; a
// place moves at most about 0.71 sides.
func Blur(p orb.Point, metres float64) orb.Point {
	if metres <= 0 {
		return p
	}
	bands := math.Max(1, math.Round(180*metresPerDegree/metres))
	height := 180 / bands
	band := math.Min(math.Floor((p[1]+90)/height), bands-1)
	lat := -90 + (band+0.5)*height
	cells := math.Max(1, math.Floor(360*metresPerDegree*math.Cos(lat*math.Pi/180)/metres))
	width := 360 / cells
	cell := math.Min(math.Floor((p[0]+180)/width), cells-1)
	return orb.Point{-180 + (cell+0.5)*width, lat}
}
