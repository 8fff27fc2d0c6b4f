package picture

import "math"

// Light of the relief: four lamps at one height, after R. K. Mark (1992), A
// multidirectional, oblique-weighted, shaded-relief image of the Island of
// Hawaii, USGS Open-File Report 92-422. Each lamp counts at every cell by the
// squared cosine between its azimuth and the way the slope faces, which is
// what gdaldem -multidirectional computes; the report weighs by the squared
// sine (from memory), which leaves gentle ground much flatter.
var lamps = [4]lamp{lampAt(225, 30), lampAt(270, 30), lampAt(315, 30), lampAt(360, 30)}

// lamp is the direction of parallel light, as a unit vector.
type lamp struct{ east, north, up float64 }

// lampAt takes degrees: azimuth from north by east, altitude above the horizon.
func lampAt(azimuth, altitude float64) lamp {
	sz, cz := math.Sincos(azimuth * math.Pi / 180)
	sa, ca := math.Sincos(altitude * math.Pi / 180)
	return lamp{ca * sz, ca * cz, sa}
}

// flatShade is what level ground gets: the sine of the lamps' altitude.
var flatShade = lamps[0].up

// gradient gives the rise per metre to the east and to the north at cell
// (x, y), with the 3 × 3 weights of Horn (1981), Hill shading and the
// reflectance map, Proc. IEEE 69(1). A missing neighbour is put on the plane
// through those that are there, so the edge of a tilted plane shades like its
// middle. ok is false where the cell itself has no height.
func gradient(z []float32, w, h, x, y int, cell float64) (east, north float64, ok bool) {
	if x > 0 && y > 0 && x < w-1 && y < h-1 { // nearly all cells
		a, b, d := z[(y-1)*w+x-1:][:3], z[y*w+x-1:][:3], z[(y+1)*w+x-1:][:3]
		nw, n, ne := float64(a[0]), float64(a[1]), float64(a[2])
		ww, c, e := float64(b[0]), float64(b[1]), float64(b[2])
		sw, s, se := float64(d[0]), float64(d[1]), float64(d[2])
		if all := nw + n + ne + ww + c + e + sw + s + se; all-all == 0 {
			east, north = horn(nw, n, ne, ww, e, sw, s, se, cell)
			return east, north, true
		}
	}
	at := func(dx, dy int) float64 {
		if x+dx < 0 || x+dx >= w || y+dy < 0 || y+dy >= h {
			return math.NaN()
		}
		v := float64(z[(y+dy)*w+x+dx])
		if math.IsInf(v, 0) {
			return math.NaN()
		}
		return v
	}
	c := at(0, 0)
	if math.IsNaN(c) {
		return 0, 0, false
	}
	opposite := func(a, b float64) (float64, float64) {
		switch {
		case math.IsNaN(a) && math.IsNaN(b):
			return c, c
		case math.IsNaN(a):
			return 2*c - b, b
		case math.IsNaN(b):
			return a, 2*c - a
		}
		return a, b
	}
	n, s := opposite(at(0, -1), at(0, 1))
	e, ww := opposite(at(1, 0), at(-1, 0))
	corner := func(v, a, b float64) float64 {
		if math.IsNaN(v) {
			return a + b - c
		}
		return v
	}
	nw, ne := corner(at(-1, -1), n, ww), corner(at(1, -1), n, e)
	sw, se := corner(at(-1, 1), s, ww), corner(at(1, 1), s, e)
	east, north = horn(nw, n, ne, ww, e, sw, s, se, cell)
	return east, north, true
}

// horn is the rise to the east and north from the eight neighbours.
func horn(nw, n, ne, w, e, sw, s, se, cell float64) (east, north float64) {
	return (ne + 2*e + se - nw - 2*w - sw) / (8 * cell), (nw + 2*n + ne - sw - 2*s - se) / (8 * cell)
}

// steepness is how many times larger sloping ground is than its plan.
func steepness(east, north float64) float64 { return math.Sqrt(1 + east*east + north*north) }

// rise is the gradient along the level part of the light.
func (l *lamp) rise(east, north float64) float64 { return east*l.east + north*l.north }

// lambert is the brightness, 0 to 1, of a matt surface of the given rise and
// steepness: the cosine between its normal and the light (Horn 1981).
func (l *lamp) lambert(rise, steep float64) float64 { return max(0, (l.up-rise)/steep) }

// shade is the brightness, 0 to 1, under all four lamps.
func shade(east, north float64) float64 {
	steep := steepness(east, north)
	sum, weights := 0.0, 0.0
	for i := range lamps {
		rise := lamps[i].rise(east, north)
		sum += rise * rise * lamps[i].lambert(rise, steep)
		weights += rise * rise
	}
	if weights == 0 {
		return flatShade
	}
	return sum / weights
}

// Hillshade gives the brightness of every cell, NaN where there is no height,
// with heights multiplied by exaggeration.
func Hillshade(z []float32, w, h int, cell, exaggeration float64) []float32 {
	out := make([]float32, w*h)
	for y := range h {
		for x := range w {
			e, n, ok := gradient(z, w, h, x, y, cell)
			if !ok {
				out[y*w+x] = float32(math.NaN())
				continue
			}
			out[y*w+x] = float32(shade(e*exaggeration, n*exaggeration))
		}
	}
	return out
}

// Steps the exaggeration is rounded to, so that the legend can state it.
var exaggerations = []float64{1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50}

// Exaggeration chooses how much to stretch heights: as much as brings the
// steeper tenth of the ground to about 30°, never below the true heights and
// never above 50, where noise would pass for relief. (Common practice, no
// source.)
func Exaggeration(z []float32, w, h int, cell float64) float64 {
	// Squared slopes up to limits[i] may be stretched exaggerations[i] times;
	// counts has each sampled cell at the largest stretch it allows.
	limits := make([]float64, len(exaggerations))
	for i, v := range exaggerations {
		limits[i] = math.Pow(math.Tan(30*math.Pi/180)/v, 2)
	}
	counts, total := make([]int, len(limits)), 0
	step := max(1, int(math.Sqrt(float64(w)*float64(h)/250_000))) // a sample is enough
	for y := 0; y < h; y += step {
		for x := 0; x < w; x += step {
			e, n, ok := gradient(z, w, h, x, y, cell)
			if !ok || (e == 0 && n == 0) {
				continue
			}
			total++
			slope := e*e + n*n
			for i := len(limits) - 1; i >= 0; i-- {
				if slope <= limits[i] {
					counts[i]++
					break
				}
			}
		}
	}
	gentle := 0
	for i := len(limits) - 1; i > 0 && total > 0; i-- {
		if gentle += counts[i]; gentle > total*9/10 {
			return exaggerations[i]
		}
	}
	return exaggerations[0]
}
