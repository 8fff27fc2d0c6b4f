// Package daylight tells when the sun rises and sets, and when it grows too
// dark to walk, from date and place alone. It knows no clock and no files.
//
// Sources: J. Meeus, Astronomical Algorithms, 2nd ed. 1998: chapter 25, lower
// accuracy, for the place of the sun (0.01°); chapter 28, Smart's formula, for
// the equation of time; chapter 15 for rising and setting, the sun's upper limb
// with 34′ of refraction and 16′ of semidiameter (almanac practice: centre 50′
// below the horizon); civil twilight ends with the centre 6° below it.
package daylight

import "math"

const degree = math.Pi / 180

// sun gives the declination (radians) and the equation of time (radians,
// apparent less mean) at a number of Julian centuries of 36,525 days from
// 2000 January 1.5.
func sun(t float64) (declination, equation float64) {
	mean := 280.46646 + t*(36000.76983+t*0.0003032)               // 25.2, mean longitude
	anomaly := (357.52911 + t*(35999.05029-t*0.0001537)) * degree // 25.3
	e := 0.016708634 - t*(0.000042037+t*0.0000001267)             // 25.4, eccentricity
	centre := (1.914602-t*(0.004817+t*0.000014))*math.Sin(anomaly) +
		(0.019993-0.000101*t)*math.Sin(2*anomaly) + 0.000289*math.Sin(3*anomaly)
	node := (125.04 - 1934.136*t) * degree
	apparent := (mean + centre - 0.00569 - 0.00478*math.Sin(node)) * degree
	obliquity := (23.43929111 - t*(0.013004167+t*(1.639e-7-t*5.036e-7)) + 0.00256*math.Cos(node)) * degree // 22.2, 25.8
	declination = math.Asin(math.Sin(obliquity) * math.Sin(apparent))                                      // 25.7
	y := math.Pow(math.Tan(obliquity/2), 2)
	l := mean * degree
	equation = y*math.Sin(2*l) - 2*e*math.Sin(anomaly) + 4*e*y*math.Sin(anomaly)*math.Cos(2*l) -
		y*y*math.Sin(4*l)/2 - 1.25*e*e*math.Sin(2*anomaly) // 28.3
	return declination, equation
}
