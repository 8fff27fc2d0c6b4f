package results

import (
	"encoding/json"
	"errors"
	"fmt"

	"github.com/paulmach/orb"
)

// ParseShape reads the coordinates of a GeoJSON polygon or multipolygon
// (RFC 7946): longitude and latitude, closed rings of four positions or more.
func ParseShape(kind string, data json.RawMessage) (orb.MultiPolygon, error) {
	var parts [][][][]float64
	switch kind {
	case "Polygon":
		parts = make([][][][]float64, 1)
		if json.Unmarshal(data, &parts[0]) != nil {
			return nil, errors.New("coordinates are no polygon")
		}
	case "MultiPolygon":
		if json.Unmarshal(data, &parts) != nil {
			return nil, errors.New("coordinates are no polygons")
		}
	default:
		return nil, fmt.Errorf("geometry is %q, want a Polygon or MultiPolygon", Clip(kind, 40))
	}
	var out orb.MultiPolygon
	for _, part := range parts {
		var poly orb.Polygon
		for _, ring := range part {
			if len(ring) < 4 {
				return nil, fmt.Errorf("a ring has %d positions, want 4 or more", len(ring))
			}
			r, err := positions(ring)
			if err != nil {
				return nil, err
			}
			if r[0] != r[len(r)-1] {
				return nil, errors.New("a ring is not closed")
			}
			poly = append(poly, orb.Ring(r))
		}
		if len(poly) == 0 {
			return nil, errors.New("a polygon has no ring")
		}
		out = append(out, poly)
	}
	if len(out) == 0 {
		return nil, errors.New("there is no polygon")
	}
	return out, nil
}

func positions(list [][]float64) (orb.LineString, error) {
	out := make(orb.LineString, len(list))
	for i, p := range list {
		if len(p) < 2 || !onEarth(p[0], p[1]) {
			return nil, fmt.Errorf("a position is %v, want longitude and latitude", p[:min(3, len(p))])
		}
		out[i] = orb.Point{p[0], p[1]}
	}
	return out, nil
}

func onEarth(lon, lat float64) bool { return lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90 }

// parseLine reads the coordinates of a GeoJSON line. One that was cut at the
// antimeridian is made whole.
func parseLine(kind string, data json.RawMessage) (orb.LineString, error) {
	if kind == "MultiLineString" {
		var parts []json.RawMessage
		if json.Unmarshal(data, &parts) != nil || len(parts) == 0 {
			return nil, errors.New("coordinates are no lines")
		}
		var out orb.LineString
		for _, part := range parts {
			l, err := parseLine("LineString", part)
			if err != nil {
				return nil, err
			}
			if n := len(out); n > 0 && (out[n-1][0] != -l[0][0] || out[n-1][1] != l[0][1] || l[0][0] != 180 && l[0][0] != -180) {
				return nil, errors.New("a line is broken elsewhere than at the antimeridian")
			}
			out = append(out, l...)
		}
		return out, nil
	}
	if kind != "LineString" {
		return nil, fmt.Errorf("geometry is %q, want a LineString", Clip(kind, 40))
	}
	var list [][]float64
	if json.Unmarshal(data, &list) != nil {
		return nil, errors.New("coordinates are no line")
	}
	if len(list) < 2 {
		return nil, fmt.Errorf("a line has %d positions, want 2 or more", len(list))
	}
	return positions(list)
}
