package picture

import (
	"image"
	"image/color"
	"math"
)

// Relief tints: cool shadows, warm light, so that slopes read as lit ground
// rather than as grey values of their own.
var (
	reliefDark  = color.NRGBA{0x72, 0x73, 0x7d, 255}
	reliefLevel = color.NRGBA{0xe3, 0xe0, 0xd8, 255}
	reliefLight = color.NRGBA{0xff, 0xff, 0xfa, 255}
	offMap      = color.NRGBA{0xf1, 0xef, 0xe8, 255}
	hatchInk    = color.NRGBA{0xd0, 0xcd, 0xc3, 255}
)

// reliefSteps is how many tints of relief there are: more cannot be seen and
// would only make the file larger.
const reliefSteps = 96

// tones are the colours of the ground, looked up by relief step (and
// suitability step).
type tones struct {
	outside [reliefSteps + 1][2]color.NRGBA // between and on the hatch lines
	suited  [reliefSteps + 1][101]color.NRGBA
}

func newTones() *tones {
	t := &tones{}
	for i := range t.outside {
		v := float64(i) / reliefSteps
		t.outside[i] = hatchPair(mix(reliefTint(v), offMap, 0.62))
		for j := range t.suited[i] {
			t.suited[i][j] = overlay(v, float64(j)/100)
		}
	}
	return t
}

// reliefTint is the colour of bare ground of brightness v.
func reliefTint(v float64) color.NRGBA {
	if v < flatShade {
		return mix(reliefDark, reliefLevel, v/flatShade)
	}
	return mix(reliefLevel, reliefLight, (v-flatShade)/(1-flatShade))
}

// overlay is the colour of ground of brightness v and suitability s: the ramp
// colour, itself lit by the relief so that valleys keep their shape under it.
func overlay(v, s float64) color.NRGBA {
	c := rampAt(s)
	lit := v - flatShade
	if lit < 0 {
		c = mix(c, color.NRGBA{0, 0, 0, 255}, -0.9*lit)
	} else {
		c = mix(c, white, 0.55*lit)
	}
	return mix(reliefTint(v), c, rampOpacity(s))
}

// drawGround paints relief, suitability and the hatch where there is none.
func drawGround(p *page) {
	s, k := p.s, p.zoom
	pitch := p.hatchPitch()
	p.hatch(p.plate)
	light := Hillshade(s.Elevation, s.W, s.H, s.Cell, p.exaggeration)
	t := newTones()
	for y := range s.H * k {
		py := p.mapRect.Min.Y + y
		row := p.row(p.mapRect.Min.X, p.mapRect.Max.X, py)
		for cx, suit := range s.Suitability[y/k*s.W:][:s.W] {
			suited, j := !math.IsNaN(float64(suit)), 0
			if suited {
				j = int(math.Round(100 * min(max(float64(suit), 0), 1)))
			}
			for x := cx * k; x < (cx+1)*k; x++ {
				v, ok := smooth(light, s.W, s.H, x, y, k)
				step := int(math.Round(v * reliefSteps))
				switch {
				case suited:
					set(row, x, t.suited[step][j])
				case ok:
					set(row, x, t.outside[step][hatched(p.mapRect.Min.X+x, py, pitch)])
				}
			}
		}
	}
}

// hatchPitch is the distance between hatch lines, in pixels along a row.
func (p *page) hatchPitch() int { return max(6, int(math.Round(0.62*p.u))) }

// hatch covers r with the hatch of ground without data.
func (p *page) hatch(r image.Rectangle) {
	pair, pitch := hatchPair(offMap), p.hatchPitch()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := p.row(r.Min.X, r.Max.X, y)
		for x := range r.Dx() {
			set(row, x, pair[hatched(r.Min.X+x, y, pitch)])
		}
	}
}

// hatchPair is colour c between and on the lines of the hatch.
func hatchPair(c color.NRGBA) [2]color.NRGBA { return [2]color.NRGBA{c, mix(c, hatchInk, 0.7)} }

// smooth gives the brightness at pixel (x, y) of a grid enlarged k times,
// bilinear between the cells around that have one. Where the cell itself has
// none it gives level ground and false.
func smooth(light []float32, w, h, x, y, k int) (float64, bool) {
	own := float64(light[y/k*w+x/k])
	if math.IsNaN(own) {
		return flatShade, false
	}
	if k == 1 {
		return own, true
	}
	fx := (float64(x)+0.5)/float64(k) - 0.5
	fy := (float64(y)+0.5)/float64(k) - 0.5
	x0, y0 := math.Floor(fx), math.Floor(fy)
	sum, weight := 0.0, 0.0
	for dy := range 2 {
		for dx := range 2 {
			cx, cy := int(x0)+dx, int(y0)+dy
			if cx < 0 || cy < 0 || cx >= w || cy >= h {
				continue
			}
			v := float64(light[cy*w+cx])
			if math.IsNaN(v) {
				continue
			}
			a := (1 - math.Abs(fx-float64(cx))) * (1 - math.Abs(fy-float64(cy)))
			sum += a * v
			weight += a
		}
	}
	return sum / weight, true
}

// drawMap paints the plate: ground, lines, patches and their numbers.
func drawMap(p *page) {
	drawGround(p)
	drawArea(p)
	drawStreams(p)
	drawOutlines(p)
	taken := drawRanks(p)
	drawNames(p, taken)
	p.frame(p.plate, max(1, int(math.Round(0.09*p.u))), ink)
}

// swatch paints a small sample of hatch for the legend.
func (p *page) swatch(r image.Rectangle) {
	if p.img == nil {
		return
	}
	p.hatch(r)
	p.frame(r, 1, hair)
}
