package weather

import (
	"fmt"
	"strings"
)

// Units are those of a table's numbers.
type Units string

// What a user can tell.
const (
	NotTold Units = ""
	Metric  Units = "metric" // °C, mm
	US      Units = "us"     // °F, inches
	Tenths  Units = "tenths" // tenths of °C and of mm of rain, mm of snow, as GHCN-Daily keeps them
)

// ParseUnits reads metric, us or tenths.
func ParseUnits(text string) (Units, error) {
	switch u := Units(strings.ToLower(text)); u {
	case NotTold, Metric, US, Tenths:
		return u, nil
	}
	return "", fmt.Errorf("expected metric (°C, mm), us (°F, inches) or tenths (of °C and mm), found %q", clipped(text))
}

// standardUnits refuses to be told other units than those of a standard.
func standardUnits(file, format string, told Units) error {
	if told != NotTold && told != Tenths {
		return fmt.Errorf("%s: is %s, whose units are fixed (tenths of °C and of mm); leave the units out, or see whether the file is what you think", file, format)
	}
	return nil
}

// unit is the unit of one column: value·scale + offset is °C or mm.
type unit struct {
	word          string
	scale, offset float64
}

var (
	celsius    = unit{"°C", 1, 0}
	fahrenheit = unit{"°F", 5.0 / 9, -32 * 5.0 / 9}
	tenthC     = unit{"tenths of °C", 0.1, 0}
	millimetre = unit{"mm", 1, 0}
	centimetre = unit{"cm", 10, 0}
	inch       = unit{"inches", 25.4, 0}
	tenthMM    = unit{"tenths of mm", 0.1, 0}
)

// toldUnit is what the user's word means for an element.
func (u Units) toldUnit(e Element) unit {
	warm := e == Tmin || e == Tmax
	switch {
	case u == US && warm:
		return fahrenheit
	case u == US:
		return inch
	case u == Tenths && warm:
		return tenthC
	case u == Tenths && e == Precip:
		return tenthMM
	case warm:
		return celsius
	}
	return millimetre
}

// convert brings a value into °C or mm. Fahrenheit is subtracted from first:
// 32 °F is 0 °C to the last bit.
func (u unit) convert(v float64) float64 {
	switch u {
	case fahrenheit:
		return (v - 32) * 5 / 9
	case tenthC, tenthMM:
		return v / 10
	}
	return v*u.scale + u.offset
}
