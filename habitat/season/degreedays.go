package season

import "math"

// Method is a way of counting degree-days from a day's extremes.
type Method string

// The two methods in common use.
const (
	Average    Method = "average"     // the mean of the extremes above the base
	SingleSine Method = "single-sine" // Baskerville and Emin 1969, Ecology 50(3):514–517
)

// Daily is one day's degree-days above base, all in °C, by the method. With a
// cutoff (nil for none) warmth above it does not count: the degree-days above
// the cutoff are taken off. NaN in gives NaN out.
func (m Method) Daily(tmin, tmax, base float64, cutoff *float64) float64 {
	above := averageAbove
	if m == SingleSine {
		above = sineAbove
	}
	dd := above(tmin, tmax, base)
	if cutoff != nil {
		dd -= above(tmin, tmax, *cutoff)
	}
	return dd
}

func averageAbove(tmin, tmax, base float64) float64 {
	return max(0, (tmin+tmax)/2-base)
}

// sineAbove is the area between the base and a sine through the extremes.
func sineAbove(tmin, tmax, base float64) float64 {
	mean, half := (tmax+tmin)/2, (tmax-tmin)/2
	switch {
	case math.IsNaN(mean):
		return mean
	case tmin >= base:
		return mean - base
	case tmax <= base:
		return 0
	}
	theta := math.Asin((base - mean) / half)
	return ((mean-base)*(math.Pi/2-theta) + half*math.Cos(theta)) / math.Pi
}

// Chill is how far one day stayed below the base, by the same sine: what is
// missing between its mean and its degree-days.
func Chill(tmin, tmax, base float64) float64 {
	return sineAbove(tmin, tmax, base) - ((tmin+tmax)/2 - base)
}
