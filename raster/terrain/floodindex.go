package terrain

import "math"

// FloodIndex is the geomorphic flood index ln(h_r/H): h_r = a·A^n is the depth
// expected of the stream a cell drains to, A its drainage area in km² where
// the cell's water reaches it, and height H how far the cell stands above it in
// metres. Positive where that depth is above the cell, +Inf on the stream.
// Source: Samela C., Troy T.J., Manfreda S. (2017) Geomorphic classifiers for
// flood-prone areas delineation for data-scarce environments, Advances in
// Water Resources 102:13–28; their usual a is 1 and n 0.354429752.
func FloodIndex(areaKm2, height, a, n float64) float64 {
	return math.Log(a * math.Pow(areaKm2, n) / max(height, 0))
}
