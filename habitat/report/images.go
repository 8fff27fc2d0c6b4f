package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image"
	"image/color"
	"image/png"
	"math"

	"rillwood/habitat/picture"
	"rillwood/habitat/results"
)

// tints is how many colours a picture's palette has beside "none".
const tints = 240

// reliefTints is how many greys the relief has: more only make the file larger.
const reliefTints = 64

// suitabilityImage is the suitability as a picture in the colours of the
// preview, clear where nothing is mapped or suitable.
func suitabilityImage(g *results.Ground) (template.URL, error) {
	return paint(g.W, g.H, g.Suitability, suitabilityColours())
}

// suitabilityColours are the colours of the picture: none, then the ramp.
func suitabilityColours() color.Palette {
	stops := picture.Ramp()
	palette := color.Palette{color.NRGBA{}}
	for i := range tints {
		palette = append(palette, between(stops, float64(i)/(tints-1)))
	}
	return palette
}

// reliefImage is the relief in greys, clear where there is none.
func reliefImage(g *results.Ground) (template.URL, error) {
	palette := color.Palette{color.NRGBA{}}
	for i := range reliefTints {
		// Light grey throughout: the ground is the stage, not the play.
		v := uint8(math.Round(120 + 135*float64(i)/(reliefTints-1)))
		palette = append(palette, color.NRGBA{v, v, v, 255})
	}
	return paint(g.W, g.H, g.Relief, palette)
}

// between is the ramp's colour and opacity at v.
func between(stops []picture.Stop, v float64) color.NRGBA {
	for i := 1; i < len(stops); i++ {
		if a, b := stops[i-1], stops[i]; v <= b.Value {
			t := (v - a.Value) / (b.Value - a.Value)
			mix := func(p, q uint8) uint8 { return uint8(math.Round(float64(p) + t*(float64(q)-float64(p)))) }
			return color.NRGBA{mix(a.Color.R, b.Color.R), mix(a.Color.G, b.Color.G), mix(a.Color.B, b.Color.B), mix(a.Color.A, b.Color.A)}
		}
	}
	return stops[len(stops)-1].Color
}

// paint makes a PNG data address of values from 0 to 1, spread over the colours
// of the palette but the first, which NaN takes.
func paint(w, h int, values []float32, palette color.Palette) (template.URL, error) {
	img := image.NewPaletted(image.Rect(0, 0, w, h), palette)
	last := float64(len(palette) - 2)
	for i, v := range values {
		if v == v {
			img.Pix[i] = uint8(1 + math.Round(float64(v)*last))
		}
	}
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestCompression}
	if err := e.Encode(&b, img); err != nil {
		return "", fmt.Errorf("picture of the page: %w", err)
	}
	return template.URL("data:image/png;base64," + base64.StdEncoding.EncodeToString(b.Bytes())), nil
}
