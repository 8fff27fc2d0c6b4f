package vector

import (
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkb"

	"rillwood/raster"
)

// OutLayer is a layer to write. Geometry is Point, LineString, Polygon,
// MultiPoint, MultiLineString, MultiPolygon, or "" for a table. Field types
// are Integer64, Real and String. Each feature has one value for each field;
// feature ids are given out anew, 1, 2, 3 …
type OutLayer struct {
	Name     string
	Geometry string
	Fields   []FieldInfo
	Features []Feature
}

// WriteGeoPackage writes the layers, all in the CRS wkt, to a GeoPackage,
// beside path and then renamed. Single geometries are made multi where the
// layer wants it. The same layers give the same bytes.
func WriteGeoPackage(path, wkt string, layers []OutLayer) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("write %q: %w", path, err)
		}
	}()
	if !strings.EqualFold(filepath.Ext(path), ".gpkg") {
		return fmt.Errorf("the name of a GeoPackage ends in .gpkg")
	}
	for _, l := range layers {
		if err := l.check(); err != nil {
			return fmt.Errorf("layer %q: %w", l.Name, err)
		}
		if l.Geometry != "" {
			if _, err := raster.DescribeCRS(wkt); err != nil {
				return err
			}
		}
	}
	dir, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		return err
	}
	// A folder of its own keeps the database's journal out of the way as well.
	tmp, err := os.MkdirTemp(dir, ".rillwood-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp)
	name := filepath.Join(tmp, "out.gpkg")
	if err := writeGeoPackage(name, wkt, layers); err != nil {
		return err
	}
	f, err := os.OpenFile(name, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer f.Close()
	return finish(f, path)
}

func writeGeoPackage(path, wkt string, layers []OutLayer) error {
	ds, err := newGeoPackage(path)
	if err != nil {
		return err
	}
	for _, l := range layers {
		if err := writeLayer(ds, wkt, l); err != nil {
			ds.close()
			return fmt.Errorf("layer %q: %w", l.Name, err)
		}
	}
	return ds.close()
}

func writeLayer(ds *dataset, wkt string, l OutLayer) error {
	out, err := ds.newLayer(l.Name, wkt, l.Geometry, l.Fields)
	if err != nil {
		return err
	}
	if err := ds.begin(); err != nil {
		return err
	}
	for i, f := range l.Features {
		var b []byte
		if f.Geometry != nil {
			if b, err = wkb.Marshal(promote(f.Geometry, l.Geometry), binary.LittleEndian); err != nil {
				return fmt.Errorf("feature %d: %w", i, err)
			}
		}
		if err := out.put(b, f.Values); err != nil {
			return fmt.Errorf("feature %d: %w", i, err)
		}
	}
	return ds.commit()
}

func (l OutLayer) check() error {
	if _, known := ogrGeometryTypes[l.Geometry]; !known {
		return fmt.Errorf("geometry %q is not one of the six simple kinds", l.Geometry)
	}
	if l.Name == "" || strings.ContainsRune(l.Name, 0) {
		return fmt.Errorf("a layer wants a name")
	}
	names := map[string]bool{"fid": true, "geom": true}
	for _, f := range l.Fields {
		if _, known := ogrFieldTypes[f.Type]; !known {
			return fmt.Errorf("field %q: type %q is not Integer64, Real or String", f.Name, f.Type)
		}
		lower := strings.ToLower(f.Name)
		if f.Name == "" || strings.ContainsRune(f.Name, 0) || names[lower] {
			return fmt.Errorf("field %q: name empty, taken or used twice", f.Name)
		}
		names[lower] = true
	}
	for i, f := range l.Features {
		if len(f.Values) != len(l.Fields) {
			return fmt.Errorf("feature %d: %d values for %d fields", i, len(f.Values), len(l.Fields))
		}
		for j, v := range f.Values {
			if strings.ContainsRune(v.text, 0) {
				return fmt.Errorf("feature %d: field %q: text with a zero byte", i, l.Fields[j].Name)
			}
		}
		if f.Geometry == nil {
			continue
		}
		if kind := promote(f.Geometry, l.Geometry).GeoJSONType(); kind != l.Geometry {
			return fmt.Errorf("feature %d: %s where %q was expected", i, kind, l.Geometry)
		}
		if !finite(pointsOf(f.Geometry, nil)) {
			return fmt.Errorf("feature %d: coordinates that are not numbers", i)
		}
	}
	return nil
}

// promote makes a multi geometry of a single one where the layer wants it.
func promote(g orb.Geometry, kind string) orb.Geometry {
	if r, ok := g.(orb.Ring); ok {
		g = orb.Polygon{r}
	}
	switch s := g.(type) {
	case orb.Point:
		if kind == "MultiPoint" {
			return orb.MultiPoint{s}
		}
	case orb.LineString:
		if kind == "MultiLineString" {
			return orb.MultiLineString{s}
		}
	case orb.Polygon:
		if kind == "MultiPolygon" {
			return orb.MultiPolygon{s}
		}
	}
	return g
}
