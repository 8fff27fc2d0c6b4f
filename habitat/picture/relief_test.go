package picture

import (
	"math"
	"testing"
)

func tilted(w, h int, cell, east, north float64) []float32 {
	z := make([]float32, w*h)
	for y := range h {
		for x := range w {
			z[y*w+x] = float32(100 + east*float64(x)*cell - north*float64(y)*cell)
		}
	}
	return z
}

// Lambert's law in slope and aspect form, as printed in Burrough & McDonnell
// (1998), Principles of Geographical Information Systems, ch. 8 (from
// memory): cos Z cos S + sin Z sin S cos(azimuth − aspect). The code works
// from the gradient instead, so the two are independent.
func slopeAspect(slope, aspect, azimuth, altitude float64) float64 {
	z := math.Pi/2 - altitude
	return max(0, math.Cos(z)*math.Cos(slope)+math.Sin(z)*math.Sin(slope)*math.Cos(azimuth-aspect))
}

// lit is the brightness under one lamp.
func lit(l lamp, east, north float64) float64 {
	return l.lambert(l.rise(east, north), steepness(east, north))
}

func TestTiltedPlane(t *testing.T) {
	const w, h, cell = 7, 5, 12.5
	rad := math.Pi / 180
	for _, c := range []struct{ slopeDeg, aspectDeg float64 }{
		{5, 0}, {12, 45}, {30, 135}, {20, 225}, {8, 290}, {40, 315}, {3, 359},
	} {
		slope, aspect := c.slopeDeg*rad, c.aspectDeg*rad
		// The ground falls towards the aspect.
		east, north := -math.Tan(slope)*math.Sin(aspect), -math.Tan(slope)*math.Cos(aspect)
		z := tilted(w, h, cell, east, north)
		want := 0.0
		for _, az := range []float64{225, 270, 315, 360} {
			want += math.Pow(math.Cos(aspect-az*rad), 2) / 2 * slopeAspect(slope, aspect, az*rad, 30*rad)
		}
		for i, got := range Hillshade(z, w, h, cell, 1) {
			if math.Abs(float64(got)-want) > 1e-4 {
				t.Errorf("slope %g° facing %g°, cell %d: shade %.6f, want %.6f", c.slopeDeg, c.aspectDeg, i, got, want)
			}
		}
		for _, az := range []float64{0, 100, 315} {
			got, want := lit(lampAt(az, 45), east, north), slopeAspect(slope, aspect, az*rad, 45*rad)
			if math.Abs(got-want) > 1e-12 {
				t.Errorf("slope %g° facing %g°, lamp at %g°: %.9f, want %.9f", c.slopeDeg, c.aspectDeg, az, got, want)
			}
		}
	}
}

// Heights of the figure in Jenson & Domingue (1988), PE&RS 54(11), 10 m cells.
var jenson = []float32{
	78, 72, 69, 71, 58, 49,
	74, 67, 56, 49, 46, 50,
	69, 53, 44, 37, 38, 48,
	64, 58, 55, 22, 31, 24,
	68, 61, 47, 21, 16, 19,
	74, 53, 34, 12, 11, 12,
}

func TestAgainstReference(t *testing.T) {
	// gdaldem hillshade of GDAL 3.6.2, -z 0.1: with -multidirectional -alt 30,
	// and with -az 315 -alt 45. It writes 1 + 254 × brightness as a byte.
	multi := []float64{104, 101, 102, 115, 108, 105, 108, 124, 113, 97, 104, 119, 106, 87, 98, 119}
	single := []float64{157, 154, 155, 167, 163, 160, 161, 170, 173, 158, 158, 167, 162, 144, 152, 170}
	shades := Hillshade(jenson, 6, 6, 10, 0.1)
	for i := range multi {
		x, y := 1+i%4, 1+i/4
		if got := 1 + 254*float64(shades[y*6+x]); math.Abs(got-multi[i]) > 1 {
			t.Errorf("four lamps at %d,%d: %.2f, reference %g", x, y, got, multi[i])
		}
		e, n, _ := gradient(jenson, 6, 6, x, y, 10)
		if got := 1 + 254*lit(lampAt(315, 45), 0.1*e, 0.1*n); math.Abs(got-single[i]) > 1 {
			t.Errorf("one lamp at %d,%d: %.2f, reference %g", x, y, got, single[i])
		}
	}
}

// The 3 × 3 case printed in Burrough & McDonnell (1998) for Horn's slope:
// 75.25762° with 5 m cells.
func TestHornSlope(t *testing.T) {
	z := []float32{50, 45, 50, 30, 30, 30, 8, 10, 10}
	e, n, ok := gradient(z, 3, 3, 1, 1, 5)
	if got := math.Atan(math.Hypot(e, n)) * 180 / math.Pi; !ok || math.Abs(got-75.25762) > 1e-4 {
		t.Errorf("slope %.5f°, want 75.25762°", got)
	}
}

func TestGapsShadeLikeTheirSurroundings(t *testing.T) {
	const w, h = 9, 9
	z := tilted(w, h, 10, 0.1, -0.2)
	whole := Hillshade(z, w, h, 10, 1)
	for _, i := range []int{3*w + 3, 3*w + 4, 5*w + 6, 0, 8} {
		z[i] = float32(math.NaN())
	}
	z[w] = float32(math.Inf(1))
	for i, got := range Hillshade(z, w, h, 10, 1) {
		gap := math.IsNaN(float64(z[i])) || math.IsInf(float64(z[i]), 0)
		switch {
		case gap && !math.IsNaN(float64(got)):
			t.Errorf("cell %d has no height but shade %g", i, got)
		// Beside two gaps in line the slope cannot be known fully; there the
		// shade only has to be between none and full.
		case !gap && !(got >= 0 && got <= 1):
			t.Errorf("cell %d: shade %g, want 0 to 1", i, got)
		case !gap && i/w > 5 && math.Abs(float64(got-whole[i])) > 1e-4:
			t.Errorf("cell %d: shade %g, want %g as without gaps", i, got, whole[i])
		}
	}
}

func TestExaggeration(t *testing.T) {
	for _, c := range []struct {
		name string
		z    []float32
		want float64
	}{
		{"steep ground is left alone", tilted(20, 20, 10, 1.2, 0), 1},
		{"hills are doubled", tilted(20, 20, 10, 0.2, 0), 2},           // tan 30° / 0.2 = 2.9
		{"flat country is stretched", tilted(20, 20, 10, 0.02, 0), 25}, // tan 30° / 0.02 = 28.9
		{"but not without end", tilted(20, 20, 10, 0.0005, 0), 50},
		{"level ground has nothing to stretch", make([]float32, 400), 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Exaggeration(c.z, 20, 20, 10); got != c.want {
				t.Errorf("exaggeration %g, want %g", got, c.want)
			}
		})
	}
}
