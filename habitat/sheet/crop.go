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

// mostCells is how many cells a side a sheet's ground shows at most; larger
// pieces are thinned.
const mostCells = 260

// groundImage is a piece of the map as a PNG data address.
func groundImage(g *results.Ground) (string, error) {
	k := max(1, (max(g.W, g.H)+mostCells-1)/mostCells)
	w, h := (g.W+k-1)/k, (g.H+k-1)/k
	img := image.NewPaletted(image.Rect(0, 0, w, h), groundPalette)
	for y := range h {
		for x := range w {
			i := min(y*k, g.H-1)*g.W + min(x*k, g.W-1)
			light, s := lightSteps-3, g.Suitability[i]
			if g.Relief != nil && g.Relief[i] == g.Relief[i] {
				light = int(math.Round(float64(g.Relief[i]) * (lightSteps - 1)))
			} else if s != s {
				continue
			}
			if s != s {
				s = 0
			}
			img.Pix[y*w+x] = uint8(1 + light*suitSteps + int(math.Round(float64(s)*(suitSteps-1))))
		}
	}
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestCompression}
	if err := e.Encode(&b, img); err != nil {
		return "", fmt.Errorf("picture of the ground: %w", err)
	}
	return "data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes()), nil
}
