package habitat

import (
	"fmt"
	"math"
	"sort"
)

// Curve is a response drawn with straight lines between points (x, y), in
// order of x, flat beyond its ends: the suitability curve of the US Fish and
// Wildlife Service standards (103 ESM, 1981).
type Curve [][2]float64

// At is the response at x; an empty curve answers 1 everywhere and NaN
// gives NaN.
func (c Curve) At(x float64) float64 {
	if len(c) == 0 {
		return 1
	}
	if math.IsNaN(x) {
		return x
	}
	i := sort.Search(len(c), func(i int) bool { return c[i][0] >= x })
	switch {
	case i == 0:
		return c[0][1]
	case i == len(c):
		return c[i-1][1]
	}
	a, b := c[i-1], c[i]
	t := (x - a[0]) / (b[0] - a[0])
	return a[1] + t*(b[1]-a[1])
}

// check wants at least two points, x strictly rising within [lo, hi], and
// responses from 0 to 1.
func (c Curve) check(path string, lo, hi float64) error {
	if len(c) < 2 {
		return wrong(path, "a curve needs at least two points [x, y], found %d", len(c))
	}
	for i, p := range c {
		at := fmt.Sprintf("%s[%d]", path, i)
		if err := within(at+"[0]", p[0], lo, hi, ""); err != nil {
			return err
		}
		if err := within(at+"[1]", p[1], 0, 1, ""); err != nil {
			return err
		}
		if i > 0 && p[0] <= c[i-1][0] {
			return wrong(at, "x must rise from point to point, found %g after %g", p[0], c[i-1][0])
		}
	}
	return nil
}

// Bankfull is a published regional curve: mean bankfull depth = A × area^B.
type Bankfull struct {
	Name   string    `yaml:"name"`
	Region string    `yaml:"region"`
	A      float64   `yaml:"a"`
	B      float64   `yaml:"b"`
	Units  string    `yaml:"units"`                // m-km2 or ft-mi2: what A and B were fitted in
	Sites  int       `yaml:"sites"`                // streams measured
	Range  []float64 `yaml:"range,flow,omitempty"` // smallest and largest area measured, in the units of the curve; none: not known
	Source string    `yaml:"source"`
}

// Exact by definition: the international foot and mile of 1959.
const (
	metresPerFoot  = 0.3048
	km2PerMi2      = 2.589988110336
	curveUnitsSI   = "m-km2"
	curveUnitsFeet = "ft-mi2"
)

// Metric gives a and b of depth = a·A^b with depth in metres and A in km²:
// a curve in feet and square miles has a × 0.3048 × 2.589988^(−b).
func (c Bankfull) Metric() (a, b float64) {
	if c.Units == curveUnitsFeet {
		return c.A * metresPerFoot * math.Pow(km2PerMi2, -c.B), c.B
	}
	return c.A, c.B
}

// DepthM is the mean bankfull depth in metres of a stream that drains km2
// square kilometres; NaN for an area that is not positive.
func (c Bankfull) DepthM(km2 float64) float64 {
	if !(km2 > 0) {
		return math.NaN()
	}
	a, b := c.Metric()
	return a * math.Pow(km2, b)
}

// RangeKm2 is the range of areas behind the curve in km²; ok is false when
// the source does not give one.
func (c Bankfull) RangeKm2() (lo, hi float64, ok bool) {
	if len(c.Range) != 2 {
		return 0, 0, false
	}
	lo, hi = c.Range[0], c.Range[1]
	if c.Units == curveUnitsFeet {
		lo, hi = lo*km2PerMi2, hi*km2PerMi2
	}
	return lo, hi, true
}

// BankfullCurve finds a curve by name; an empty name is the profile's default.
func (p *Profile) BankfullCurve(name string) (Bankfull, error) {
	if name == "" {
		name = p.Curve
	}
	var known []string
	for _, c := range p.Curves {
		if c.Name == name {
			return c, nil
		}
		known = append(known, c.Name)
	}
	return Bankfull{}, wrong("curve", "profile %s has no bankfull curve %q; %s", p.Name, oneLine(name), suggest(name, known))
}

// OrderArea guesses what a stream drains from its Strahler order, for rivers
// that come in from outside with an order and no area: FirstKm2 ×
// Ratio^(order−1), Horton's law of stream areas.
type OrderArea struct {
	FirstKm2 float64 `yaml:"first_km2"`
	Ratio    float64 `yaml:"ratio"`
	Source   string  `yaml:"source"`
}

// Km2 is the guess, NaN for an order that is not known.
func (o OrderArea) Km2(order int) float64 {
	if order < 1 {
		return math.NaN()
	}
	return o.FirstKm2 * math.Pow(o.Ratio, float64(order-1))
}

func (o OrderArea) check(path string) error {
	if err := within(path+".first_km2", o.FirstKm2, 0.01, 1000, "km²"); err != nil {
		return err
	}
	return within(path+".ratio", o.Ratio, 1.5, 20, "")
}
