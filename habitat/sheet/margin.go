package sheet

import (
	"fmt"
	"math"
	"unicode/utf8"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
)

// keyEntry is a sign of the map and its words; the sign is so many units wide
// around the line y = 0.
type keyEntry struct {
	sign  string
	wide  float64
	words string
}

// margin draws what stands around the ground: its frame, the grid, two
// corners in degrees, the scale and the key.
func (s *sketch) margin() error {
	fmt.Fprintf(s, `<rect x="%s" y="%s" width="%s" height="%s" fill="none" stroke="#000" stroke-width="4"/>`, num(marginLeft), num(marginTop), num(mapWide), num(s.v.high))
	s.ticks()
	corners := []orb.Point{{s.v.bound.Min[0], s.v.bound.Max[1]}, {s.v.bound.Max[0], s.v.bound.Min[1]}}
	if err := s.from.Points(corners); err != nil {
		return err
	}
	fmt.Fprintf(s, `<text class="corner" x="%s" y="22" font-size="25">%.5f, %.5f</text>`, num(marginLeft), corners[0][1], corners[0][0])
	fmt.Fprintf(s, `<text class="corner" x="%s" y="%s" text-anchor="end" font-size="25">%.5f, %.5f</text>`, num(marginLeft+mapWide), num(marginTop+s.v.high+30), corners[1][1], corners[1][0])
	s.scaleBars()
	s.drawKey()
	return nil
}

// roundStep is the round length (1, 2 or 5 times a power of ten) next below v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range []float64{5, 2} {
		if k*p <= v {
			return k * p
		}
	}
	return p
}

// ticks marks round eastings and northings of the grid along the edges.
func (s *sketch) ticks() {
	v := s.v
	step := roundStep((v.bound.Max[0] - v.bound.Min[0]) / 3.5)
	top, foot, left, right := marginTop, marginTop+v.high, marginLeft, marginLeft+mapWide
	for e := math.Ceil(v.bound.Min[0]/step) * step; e < v.bound.Max[0]; e += step {
		x, _ := v.at(orb.Point{e, 0})
		x += left
		fmt.Fprintf(s, `<path class="tick-e" d="M%s %sv16M%s %sv-16" stroke="#000" stroke-width="4"/>`, num(x), num(top), num(x), num(foot))
		if x > left+410 && x < right-90 { // clear of the corner
			fmt.Fprintf(s, `<text class="east" x="%s" y="22" text-anchor="middle" font-size="25">%.0f E</text>`, num(x), e)
		}
	}
	for n := math.Ceil(v.bound.Min[1]/step) * step; n < v.bound.Max[1]; n += step {
		_, y := v.at(orb.Point{0, n})
		y += top
		fmt.Fprintf(s, `<path class="tick-n" d="M%s %sh16M%s %sh-16" stroke="#000" stroke-width="4"/>`, num(left), num(y), num(right), num(y))
		if y > top+80 && y < foot-80 {
			fmt.Fprintf(s, `<text class="north" transform="translate(22 %s) rotate(-90)" text-anchor="middle" font-size="25">%.0f N</text>`, num(y), n)
		}
	}
}

// yard is 0.9144 m exactly (international agreement of 1959).
const yard = 0.9144

// scaleBars are a round length in metres and one in yards, below the ground.
func (s *sketch) scaleBars() {
	wide := (s.v.bound.Max[0] - s.v.bound.Min[0]) / 5
	bar := func(class string, m, y float64, words string) {
		fmt.Fprintf(s, `<path class="%s" data-m="%g" d="M%s %sv12h%sv-12" fill="none" stroke="#000" stroke-width="4"/>`, class, m, num(marginLeft+2), num(y-12), num(m*s.v.scale))
		fmt.Fprintf(s, `<text x="%s" y="%s" font-size="27">%s</text>`, num(marginLeft+2+m*s.v.scale+12), num(y+3), words)
	}
	foot := marginTop + s.v.high
	m, yd := roundStep(wide), roundStep(wide/yard)
	bar("bar-m", m, foot+28, fmt.Sprintf("%g m", m))
	bar("bar-yd", yd*yard, foot+62, fmt.Sprintf("%g yd", yd))
}

// drawKey explains the signs, in a line or two beside the scale.
func (s *sketch) drawKey() {
	const size = 27
	x, y := marginLeft+420, marginTop+s.v.high+62
	below := false
	for _, k := range s.key {
		wide := k.wide + 10 + 0.58*size*float64(utf8.RuneCountInString(k.words)) + 22
		if x+wide > drawingWide+22 && !below {
			x, y, below = marginLeft+2, marginTop+s.v.high+98, true
		}
		fmt.Fprintf(s, `<g transform="translate(%s %s)">%s<text x="%s" y="9" font-size="%d">%s</text></g>`, num(x), num(y-9), k.sign, num(k.wide+10), size, k.words)
		x += wide
	}
}

// northArrow points up: grid north.
func (s *sketch) northArrow() {
	x := mapWide - 44
	fmt.Fprintf(s, `<g class="north-arrow" transform="translate(%s 52)"><path d="M0 -44L20 26L0 12L-20 26Z" fill="#000" stroke="#fff" stroke-width="6" paint-order="stroke"/><text y="56" text-anchor="middle" font-size="32" font-weight="700" stroke="#fff" stroke-width="8" paint-order="stroke">N</text></g>`, num(x))
	s.labels.take(x, 60, 60, 112)
}

// convergence is the angle from the grid's north to true north, degrees
// clockwise, from two points of the patch's meridian.
func (d *drawing) convergence(c *results.Candidate) (float64, error) {
	const apart = 0.002 // degrees of latitude, some 200 m
	pts := []orb.Point{{c.Lon, max(c.Lat-apart/2, -90)}, {c.Lon, min(c.Lat+apart/2, 90)}}
	if err := d.to.Points(pts); err != nil {
		return 0, err
	}
	return math.Atan2(pts[1][0]-pts[0][0], pts[1][1]-pts[0][1]) * 180 / math.Pi, nil
}

// northWords say which north is up.
func northWords(turn float64) string {
	switch {
	case turn > 1:
		return fmt.Sprintf("Up is grid north; true north is %.1f° east of it.", turn)
	case turn < -1:
		return fmt.Sprintf("Up is grid north; true north is %.1f° west of it.", -turn)
	}
	return "Up is grid north, within 1° of true."
}
