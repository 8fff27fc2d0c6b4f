package daylight

import (
	"fmt"
	"math"
	"time"
)

// Altitudes of the sun's centre, degrees.
const (
	Horizon = -50. / 60 // upper limb on the horizon
	Civil   = -6.       // end of civil twilight
)

// Light is how a day is lit.
type Light int

// Lights of a day.
const (
	Usual  Light = iota // the sun rises and sets
	AllDay              // it stays above the horizon
	None                // it stays below
)

// Day is the light of one date at one place. Times are zero where the sun does
// not pass that altitude around this day's noon.
type Day struct {
	Light                  Light
	Dawn, Rise, Noon       time.Time
	Set, Dusk              time.Time
	Twilight               bool // whether dawn and dusk are there
	Latitude, Longitude    float64
	Year, Month, DayNumber int
}

// On works out the day of a date on the clocks of a zone at a latitude and
// longitude (degrees, east positive). The times are those about the solar noon
// nearest to 12 h of that clock, good to a minute or so up to 65° of latitude;
// hills, which hide the low sun, are not known. A date that is none, or a place
// that is not on the earth, is an error; poles within 0.01° count as 89.99°.
func On(year, month, day int, latitude, longitude float64, zone *time.Location) (Day, error) {
	noon := time.Date(year, time.Month(month), day, 12, 0, 0, 0, zone)
	if y, m, d := noon.Date(); y != year || int(m) != month || d != day || year < 1900 || year > 2100 {
		return Day{}, fmt.Errorf("%04d-%02d-%02d is no date from 1900 to 2100", year, month, day)
	}
	if !(math.Abs(latitude) <= 90) || !(math.Abs(longitude) <= 180) {
		return Day{}, fmt.Errorf("latitude %g, longitude %g is no place on earth", latitude, longitude)
	}
	latitude = min(max(latitude, -89.99), 89.99)
	out := Day{Latitude: latitude, Longitude: longitude, Year: year, Month: month, DayNumber: day}
	start := float64(noon.Unix())
	transit := start
	for range 4 {
		_, eq := sun(centuries(transit))
		transit = start + nearest(start, longitude, eq)
	}
	out.Noon = at(transit, zone)
	dec, _ := sun(centuries(transit))
	rise, okRise := event(transit, latitude, longitude, Horizon, -1)
	set, okSet := event(transit, latitude, longitude, Horizon, 1)
	switch {
	case okRise && okSet:
		out.Rise, out.Set = at(rise, zone), at(set, zone)
	case math.Sin(Horizon*degree) < math.Sin(latitude*degree)*math.Sin(dec)+math.Cos(latitude*degree)*math.Cos(dec):
		out.Light = AllDay
	default:
		out.Light = None
	}
	dawn, ok1 := event(transit, latitude, longitude, Civil, -1)
	dusk, ok2 := event(transit, latitude, longitude, Civil, 1)
	if out.Twilight = ok1 && ok2; out.Twilight {
		out.Dawn, out.Dusk = at(dawn, zone), at(dusk, zone)
	}
	return out, nil
}

// nearest is how many seconds after an instant the sun passes the meridian,
// by the way that is shorter.
func nearest(unix, longitude, equation float64) float64 {
	utc := math.Mod(unix, 86400) / 240 // degrees
	angle := math.Remainder(utc-180+longitude+equation/degree, 360)
	return -angle * 240
}

// event is when the sun passes an altitude before (side −1) or after (1) a
// transit; ok is false where it does not.
func event(transit, latitude, longitude, altitude float64, side float64) (unix float64, ok bool) {
	unix = transit
	sinPhi, cosPhi := math.Sincos(latitude * degree)
	for range 8 {
		dec, eq := sun(centuries(unix))
		c := (math.Sin(altitude*degree) - sinPhi*math.Sin(dec)) / (cosPhi * math.Cos(dec)) // 15.1
		if !(math.Abs(c) <= 1) {
			return 0, false
		}
		noon := transit + nearest(transit, longitude, eq)
		unix = noon + side*math.Acos(c)/degree*240
	}
	return unix, true
}

// centuries of 36,525 days from 2000 January 1.5 of dynamical time, which runs
// some 70 s before the clock: the sun moves too little in that to tell.
func centuries(unix float64) float64 { return (unix - 946728000 + 70) / 86400 / 36525 }

func at(unix float64, zone *time.Location) time.Time {
	return time.Unix(int64(math.Round(unix)), 0).In(zone)
}
