package picture

import (
	"image/color"
	"math"
	"testing"
)

// Full protanopia, deuteranopia and tritanopia as matrices on linear RGB:
// Machado, Oliveira & Fernandes (2009), A physiologically-based model for
// simulation of color vision deficiency, IEEE TVCG 15(6), severity 1.0 (from
// memory).
var visions = map[string][9]float64{
	"normal":       {1, 0, 0, 0, 1, 0, 0, 0, 1},
	"protanopia":   {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
	"deuteranopia": {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.011820, 0.042940, 0.968881},
	"tritanopia":   {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.303900},
}

// lab is the colour as seen, in CIE 1976 L*a*b* under D65 (CIE 15; sRGB
// primaries of IEC 61966-2-1).
func lab(c color.NRGBA, m [9]float64) [3]float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	r0, g0, b0 := lin(c.R), lin(c.G), lin(c.B)
	cut := func(v float64) float64 { return min(max(v, 0), 1) }
	r := cut(m[0]*r0 + m[1]*g0 + m[2]*b0)
	g := cut(m[3]*r0 + m[4]*g0 + m[5]*b0)
	b := cut(m[6]*r0 + m[7]*g0 + m[8]*b0)
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*r + 0.3576*g + 0.1805*b) / 0.9505)
	y := f(0.2126*r + 0.7152*g + 0.0722*b)
	z := f((0.0193*r + 0.1192*g + 0.9505*b) / 1.0890)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

func TestMarksForTheColourBlind(t *testing.T) {
	// White has L* 100 and no colour, by definition.
	if w := lab(white, visions["normal"]); math.Abs(w[0]-100) > 0.1 || math.Abs(w[1]) > 0.1 || math.Abs(w[2]) > 0.1 {
		t.Fatalf("white is %v, want L* 100", w)
	}
	for name, m := range visions {
		apart := func(a, b color.NRGBA) float64 {
			p, q := lab(a, m), lab(b, m)
			return math.Sqrt(math.Pow(p[0]-q[0], 2) + math.Pow(p[1]-q[1], 2) + math.Pow(p[2]-q[2], 2))
		}
		for i := 1; i <= 20; i++ {
			// Each step of the ramp, as it lies on level ground, is darker than the last.
			a, b := lab(overlay(flatShade, float64(i-1)/20), m), lab(overlay(flatShade, float64(i)/20), m)
			if i > 3 && b[0] >= a[0] {
				t.Errorf("%s: suitability %.2f looks no darker than %.2f", name, float64(i)/20, float64(i-1)/20)
			}
			// 10 is several times what is just seen (2.3; Mahy et al. 1994).
			if d := apart(overlay(flatShade, float64(i)/20), patch); d < 10 {
				t.Errorf("%s: outline is %.1f from ground of suitability %.2f", name, d, float64(i)/20)
			}
		}
		if d := apart(water, patch); d < 25 {
			t.Errorf("%s: outline is %.1f from a stream", name, d)
		}
		if d := apart(overlay(flatShade, 1), overlay(flatShade, 0)); d < 50 {
			t.Errorf("%s: best and worst ground are %.1f apart", name, d)
		}
	}
}
