package sheet

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"

	"rillwood/habitat/picture"
	"rillwood/habitat/results"
)

// Steps of relief and of suitability in the palette of a sheet's ground: their
// product and one for "none" fit 256 colours.
const (
	lightSteps = 14
	suitSteps  = 18
)

// groundPalette mixes paper-light relief with the ramp of suitability.
var groundPalette = func() color.Palette {
	stops := picture.Ramp()
	p := color.Palette{color.NRGBA{0xf4, 0xf4, 0xf0, 255}}
	for l := range lightSteps {
		grey := 168 + 87*float64(l)/(lightSteps-1)
		for s := range suitSteps {
			v := float64(s) / (suitSteps - 1)
			i := min(int(v*float64(len(stops)-1)), len(stops)-2)
			t := v*float64(len(stops)-1) - float64(i)
			a, b := stops[i].Color, stops[i+1].Color
			// Half the opacity of the screen: ink must stay readable over it.
			opacity := (float64(a.A) + t*(float64(b.A)-float64(a.A))) / 255 * 0.6
			mix := func(x, y uint8) uint8 {
				c := float64(x) + t*(float64(y)-float64(x))
				return uint8(math.Round(grey + opacity*(c-grey)))
			}
			p = append(p, color.NRGBA{mix(a.R, b.R), mix(a.G, b.G), mix(a.B, b.B), 255})
		}
	}
	return p
}()

// groundSides are the most cells a side that a sheet's ground shows: the first
// with which its PNG takes at most groundBytes, else the last. Larger pieces
// are averaged down.
var groundSides = []int{260, 200, 150, 110, 80}

// groundBytes keeps a page that holds a hundred sheets small.
const groundBytes = 8_000

// groundImage is a piece of the map as a PNG data address.
func groundImage(g *results.Ground) (string, error) {
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestCompression}
	for _, side := range groundSides {
		b.Reset()
		if err := e.Encode(&b, paint(g, max(1, (max(g.W, g.H)+side-1)/side))); err != nil {
			return "", fmt.Errorf("picture of the ground: %w", err)
		}
		if b.Len() <= groundBytes {
			break
		}
	}
	return "data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// flatLight is the light of level ground, for runs without relief.
const flatLight = 0.75

// paint colours the ground, k by k cells to a pixel.
func paint(g *results.Ground, k int) *image.Paletted {
	w, h := (g.W+k-1)/k, (g.H+k-1)/k
	img := image.NewPaletted(image.Rect(0, 0, w, h), groundPalette)
	for y := range h {
		for x := range w {
			s, mapped := block(g, g.Suitability, x, y, k)
			light, lit := flatLight, false
			if g.Relief != nil {
				if l, ok := block(g, g.Relief, x, y, k); ok {
					light, lit = l, true
				}
			}
			if !mapped && !lit {
				continue
			}
			img.Pix[y*w+x] = uint8(1 + step(light, lightSteps)*suitSteps + step(s, suitSteps))
		}
	}
	return img
}

func step(v float64, steps int) int { return int(math.Round(min(max(v, 0), 1) * float64(steps-1))) }

// block is the mean of the cells of one pixel that have a value; 0 and false
// when none has.
func block(g *results.Ground, v []float32, x, y, k int) (float64, bool) {
	sum, n := 0.0, 0
	for cy := y * k; cy < min(y*k+k, g.H); cy++ {
		for cx := x * k; cx < min(x*k+k, g.W); cx++ {
			if c := float64(v[cy*g.W+cx]); !math.IsNaN(c) {
				sum += c
				n++
			}
		}
	}
	if n == 0 {
		return 0, false
	}
	return sum / float64(n), true
}
