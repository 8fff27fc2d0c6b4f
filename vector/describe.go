package vector

import (
	"fmt"
	"slices"
	"strings"

	"rillwood/raster"
)

// FieldInfo is a field of a layer. Type is Integer, Integer64, Real, String,
// Boolean, Date, DateTime or another OGR type name.
type FieldInfo struct{ Name, Type string }

// Info is what a layer says about itself.
type Info struct {
	Path, Driver, Layer string
	Layers              []string // all layers of the file
	WKT                 string   // CRS, "" when there is none
	EPSG                int      // its code, 0 when none is known
	CRSName             string
	Geometry            string // OGR's name of the kind ("3D Measured Multi Line String"); "None" for a table
	Count               int    // features the file declares
	Fields              []FieldInfo
	Extent              [4]float64 // west, south, east, north in the layer's CRS; zeros when empty
}

// Describe looks at a layer without reading its features. layer may be "" when
// the file has one layer, or one with geometry. crsOverride ("EPSG:n" or WKT)
// replaces the CRS of the file.
func Describe(path, layer, crsOverride string) (Info, error) {
	s, err := openSource(path, layer, crsOverride)
	if err != nil {
		return Info{}, err
	}
	defer s.ds.close()
	return s.info, nil
}

// source is an open layer.
type source struct {
	ds       *dataset
	layer    ogrLayer
	info     Info
	warnings []string
}

func openSource(path, layer, crsOverride string) (*source, error) {
	ds, abs, driver, err := open(path)
	if err != nil {
		return nil, err
	}
	s := &source{ds: ds, info: Info{Path: abs, Driver: driver}}
	for _, w := range ds.warnings {
		s.warnings = append(s.warnings, fmt.Sprintf("%q: %s", path, w))
	}
	if err := s.look(path, layer, crsOverride); err != nil {
		ds.close()
		return nil, err
	}
	return s, nil
}

func (s *source) look(path, name, crsOverride string) error {
	layers := s.ds.layers()
	for _, l := range layers {
		s.info.Layers = append(s.info.Layers, l.name)
	}
	var err error
	if s.layer, err = choose(layers, name); err != nil {
		return fmt.Errorf("%q: %w", path, err)
	}
	if s.layer.err != nil {
		return fmt.Errorf("%q: layer %q: %w", path, s.layer.name, s.layer.err)
	}
	if s.info.Driver == "GPKG" {
		if err := s.layer.ownSQL(); err != nil {
			return fmt.Errorf("%q: layer %q: %w", path, s.layer.name, err)
		}
	}
	s.info.Layer, s.info.Geometry, s.info.Fields = s.layer.name, s.layer.geometry, s.layer.fields()
	if s.info.Count, err = s.layer.count(); err != nil {
		return fmt.Errorf("%q: layer %q: count features: %w", path, s.layer.name, err)
	}
	s.info.Extent, _ = s.layer.extent()
	crs, known, err := s.layer.crs()
	if err != nil {
		return fmt.Errorf("%q: layer %q: read its crs: %w", path, s.layer.name, err)
	}
	// What GeoPackage keeps for "no CRS" comes out as a CRS of this name.
	if strings.HasPrefix(strings.ToLower(crs.name), "undefined ") {
		known = false
	}
	if crsOverride != "" {
		named, err := raster.ParseCRS(crsOverride)
		if err != nil {
			return fmt.Errorf("%q: %w", path, err)
		}
		if known && (crs.epsg == 0 || crs.epsg != named.EPSG) && !raster.SameCRS(crs.wkt, named.WKT) {
			s.warnings = append(s.warnings, fmt.Sprintf("%q: layer %q is in %q by its own account; read as %q as asked", path, s.layer.name, crs.name, named.Name))
		}
		crs, known = ownCRS{named.WKT, named.Name, named.EPSG}, true
	}
	if known {
		s.info.WKT, s.info.EPSG, s.info.CRSName = crs.wkt, crs.epsg, crs.name
	}
	return nil
}

// choose picks the layer named, or the only one, or the only one with geometry.
func choose(layers []ogrLayer, name string) (ogrLayer, error) {
	if len(layers) == 0 {
		return ogrLayer{}, fmt.Errorf("no vector layer in it")
	}
	names := make([]string, len(layers))
	for i, l := range layers {
		names[i] = l.name
	}
	if name != "" {
		if i := slices.Index(names, name); i >= 0 {
			return layers[i], nil
		}
		if i := slices.IndexFunc(names, func(n string) bool { return strings.EqualFold(n, name) }); i >= 0 {
			return layers[i], nil
		}
		return ogrLayer{}, fmt.Errorf("no layer %q; it has %s", name, list(names))
	}
	if len(layers) == 1 {
		return layers[0], nil
	}
	var spatial []ogrLayer
	for _, l := range layers {
		if l.spatial {
			spatial = append(spatial, l)
		}
	}
	if len(spatial) == 1 {
		return spatial[0], nil
	}
	return ogrLayer{}, fmt.Errorf("%d layers and none named; it has %s", len(layers), list(names))
}
