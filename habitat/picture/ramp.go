package picture

import (
	"image/color"
	"math"
)

// Stop is one colour of the suitability ramp.
type Stop struct {
	Value float64 // suitability, 0 to 1
	Color color.NRGBA
}

// rampColors is the sequential scheme YlGnBu with nine classes: brightness
// falls strictly from pale yellow to navy, and it stays ordered for people
// with any of the common kinds of colour blindness. Colors from ColorBrewer,
// © 2002 Cynthia Brewer, Mark Harrower and The Pennsylvania State University,
// Apache License 2.0.
var rampColors = [9]color.NRGBA{
	{0xff, 0xff, 0xd9, 255}, {0xed, 0xf8, 0xb1, 255}, {0xc7, 0xe9, 0xb4, 255},
	{0x7f, 0xcd, 0xbb, 255}, {0x41, 0xb6, 0xc4, 255}, {0x1d, 0x91, 0xc0, 255},
	{0x22, 0x5e, 0xa8, 255}, {0x25, 0x34, 0x94, 255}, {0x08, 0x1d, 0x58, 255},
}

// Ramp gives the stops of the suitability ramp, low to high, with the
// opacity at which the picture lays each over the relief, so that style files
// can show the same colours.
func Ramp() []Stop {
	stops := make([]Stop, len(rampColors))
	for i := range stops {
		v := float64(i) / float64(len(rampColors)-1)
		c := rampColors[i]
		c.A = uint8(math.Round(255 * rampOpacity(v)))
		stops[i] = Stop{Value: v, Color: c}
	}
	return stops
}

// rampAt is the opaque colour for suitability v, straight between the stops;
// v is cut to 0–1.
func rampAt(v float64) color.NRGBA {
	last := len(rampColors) - 1
	f := min(max(v, 0), 1) * float64(last)
	i := min(int(f), last-1)
	return mix(rampColors[i], rampColors[i+1], f-float64(i))
}

// rampOpacity lets the relief through where suitability is low: nothing at
// 0, all but the last of the relief covered from 0.4 up.
func rampOpacity(v float64) float64 {
	t := min(max(v/0.4, 0), 1)
	return 0.9 * t * (2 - t)
}
