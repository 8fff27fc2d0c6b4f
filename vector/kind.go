package vector

import (
	"fmt"
	"strings"

	"github.com/paulmach/orb"
)

// Kind is what shapes a Query wants.
type Kind uint8

// Any takes every shape as it comes, collections too. With the others the
// geometries read are Polygon and MultiPolygon, LineString and MultiLineString,
// or Point and MultiPoint, nothing else.
const (
	Any Kind = iota
	Polygons
	Lines
	Points
)

// collections names features of several kinds of which none is wanted.
const collections Kind = 4

var kindNames = [...]string{"shapes", "polygons", "lines", "points", "collections"}

// String is the kind in the plural: "polygons".
func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return fmt.Sprintf("kind %d", uint8(k))
}

func kindOf(g orb.Geometry) Kind {
	switch g.(type) {
	case orb.Polygon, orb.MultiPolygon, orb.Ring:
		return Polygons
	case orb.LineString, orb.MultiLineString:
		return Lines
	case orb.Point, orb.MultiPoint:
		return Points
	}
	return collections
}

// declaredKind is the kind that OGR's name of a layer's geometry promises, Any
// when it promises none.
func declaredKind(name string) Kind {
	switch {
	case strings.Contains(name, "Polygon"), strings.Contains(name, "Surface"):
		return Polygons
	case strings.Contains(name, "Line"), strings.Contains(name, "Curve"):
		return Lines
	case strings.Contains(name, "Point"):
		return Points
	}
	return Any
}

// pick gives what of g is of the wanted kind, nil when nothing is. A collection
// gives its parts of that kind, from whatever depth, joined.
func pick(g orb.Geometry, want Kind) orb.Geometry {
	if want == Any || kindOf(g) == want {
		return g
	}
	var polygons orb.MultiPolygon
	var lines orb.MultiLineString
	var points orb.MultiPoint
	var gather func(g orb.Geometry)
	gather = func(g orb.Geometry) {
		switch g := g.(type) {
		case orb.Collection:
			for _, m := range g {
				gather(m)
			}
		case orb.Polygon:
			polygons = append(polygons, g)
		case orb.MultiPolygon:
			polygons = append(polygons, g...)
		case orb.LineString:
			lines = append(lines, g)
		case orb.MultiLineString:
			lines = append(lines, g...)
		case orb.Point:
			points = append(points, g)
		case orb.MultiPoint:
			points = append(points, g...)
		}
	}
	gather(g)
	switch {
	case want == Polygons && len(polygons) == 1:
		return polygons[0]
	case want == Polygons && len(polygons) > 1:
		return polygons
	case want == Lines && len(lines) == 1:
		return lines[0]
	case want == Lines && len(lines) > 1:
		return lines
	case want == Points && len(points) == 1:
		return points[0]
	case want == Points && len(points) > 1:
		return points
	}
	return nil
}

// found counts features by kind.
type found [len(kindNames)]int

func (f found) total() int {
	n := 0
	for _, c := range f {
		n += c
	}
	return n
}

// String says what was found: "3 points and 2 lines".
func (f found) String() string {
	var parts []string
	for k := Polygons; int(k) < len(f); k++ {
		switch n := f[k]; {
		case n == 1:
			parts = append(parts, "1 "+strings.TrimSuffix(k.String(), "s"))
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, k))
		}
	}
	if n := len(parts); n > 1 {
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1]
	}
	return strings.Join(parts, "")
}
