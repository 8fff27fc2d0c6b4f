package sheet

import (
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/habitat/results"
)

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
func ticks(s *strings.Builder, v view) {
	step := roundStep((v.bound.Max[0] - v.bound.Min[0]) / 4)
	halo := `fill="#000" stroke="#fff" stroke-width="7" paint-order="stroke" font-size="26"`
	for e := math.Ceil(v.bound.Min[0]/step) * step; e < v.bound.Max[0]; e += step {
		x, _ := v.at(orb.Point{e, 0})
		fmt.Fprintf(s, `<path d="M%s 0V18M%s %sV%s" stroke="#000" stroke-width="4"/>`, num(x), num(x), num(mapHigh), num(mapHigh-18))
		if x > 110 && x < mapWide-110 {
			fmt.Fprintf(s, `<text x="%s" y="44" text-anchor="middle" %s>%.0f E</text>`, num(x), halo, e)
		}
	}
	for n := math.Ceil(v.bound.Min[1]/step) * step; n < v.bound.Max[1]; n += step {
		_, y := v.at(orb.Point{0, n})
		fmt.Fprintf(s, `<path d="M0 %sH18M%s %sH%s" stroke="#000" stroke-width="4"/>`, num(y), num(mapWide), num(y), num(mapWide-18))
		if y > 70 && y < mapHigh-110 {
			fmt.Fprintf(s, `<text x="24" y="%s" %s>%.0f N</text>`, num(y+9), halo, n)
		}
	}
}

// yardsPerMetre: the international yard is 0.9144 m exactly (1959 agreement).
const yardsPerMetre = 1 / 0.9144

// scaleBar is a round length in metres, and one in yards under it.
func scaleBar(s *strings.Builder, v view) {
	wide := v.bound.Max[0] - v.bound.Min[0]
	m := roundStep(wide / 5)
	yd := roundStep(wide / 5 * yardsPerMetre)
	x, y := 40.0, mapHigh-66
	fmt.Fprintf(s, `<rect x="%s" y="%s" width="%s" height="100" fill="#fff" fill-opacity=".85"/>`, num(x-14), num(y-42), num(max(m, yd/yardsPerMetre)*v.scale+150))
	bar := func(class string, length, y float64, words string) {
		fmt.Fprintf(s, `<path class="%s" data-m="%g" d="M%s %sv14h%sv-14" fill="none" stroke="#000" stroke-width="5"/>`, class, length, num(x), num(y-14), num(length*v.scale))
		fmt.Fprintf(s, `<text x="%s" y="%s" font-size="30">%s</text>`, num(x+length*v.scale+12), num(y+4), words)
	}
	bar("bar-m", m, y, fmt.Sprintf("%g m", m))
	bar("bar-yd", yd/yardsPerMetre, y+44, fmt.Sprintf("%g yd", yd))
}

// northArrow points up: grid north.
func northArrow(s *strings.Builder) {
	x := mapWide - 60
	fmt.Fprintf(s, `<g transform="translate(%s 62)"><path d="M0 -44L22 30L0 14L-22 30Z" fill="#000" stroke="#fff" stroke-width="5" paint-order="stroke"/><text y="62" text-anchor="middle" font-size="32" font-weight="700" stroke="#fff" stroke-width="8" paint-order="stroke">N</text></g>`, num(x))
}

// convergence says by how many degrees true north lies beside the grid's, from
// two points of one meridian.
func (d *drawing) convergence(c *results.Candidate) (string, error) {
	const apart = 0.002 // degrees of latitude, some 200 m
	pts := []orb.Point{{c.Lon, c.Lat - apart/2}, {c.Lon, c.Lat + apart/2}}
	if err := d.to.Points(pts); err != nil {
		return "", err
	}
	turn := math.Atan2(pts[1][0]-pts[0][0], pts[1][1]-pts[0][1]) * 180 / math.Pi
	if math.Abs(turn) < 0.95 {
		return "The map's north is grid north, within 1° of true north.", nil
	}
	side := "east"
	if turn < 0 {
		side = "west"
	}
	return fmt.Sprintf("The map's north is grid north; true north lies %.1f° %s of it.", math.Abs(turn), side), nil
}
