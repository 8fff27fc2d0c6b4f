package sheet

import (
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
)

// path is lines as an SVG path, cut to a little more than what is shown; ""
// when none is seen.
func (v view) path(lines []orb.LineString, look string) string {
	var d strings.Builder
	near := v.near()
	for _, l := range lines {
		for _, piece := range clip.LineString(near, l) {
			v.write(&d, piece, false)
		}
	}
	return element(d.String(), look)
}

// area is polygons as an SVG path. The cut edges lie outside of what is shown.
func (v view) area(shape orb.MultiPolygon, look string) string {
	var d strings.Builder
	near := v.near()
	for _, polygon := range shape {
		if !polygon.Bound().Intersects(near) {
			continue
		}
		for _, ring := range clip.Polygon(near, polygon.Clone()) {
			v.write(&d, orb.LineString(ring), true)
		}
	}
	return element(d.String(), look)
}

// near is what is shown and a bit more, so that no cut end is seen.
func (v view) near() orb.Bound { return v.bound.Pad(40 / v.scale) }

func (v view) write(d *strings.Builder, line orb.LineString, closed bool) {
	last := ""
	for i, p := range line {
		x, y := v.at(p)
		at := num(x) + " " + num(y)
		switch {
		case i == 0:
			d.WriteString("M" + at)
		case at != last:
			d.WriteString("L" + at)
		}
		last = at
	}
	if closed && len(line) > 0 {
		d.WriteString("Z")
	}
}

func element(d, look string) string {
	if d == "" {
		return ""
	}
	return `<path ` + look + ` d="` + d + `"/>`
}
