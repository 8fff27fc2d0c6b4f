package vector

// #include <stdlib.h>
// #include "ogr.h"
import "C"

import (
	"encoding/binary"
	"fmt"
	"math"
	"unsafe"
)

// newGeoPackage makes an empty GeoPackage.
func newGeoPackage(path string) (*dataset, error) {
	Setup()
	p := C.CString(path)
	defer C.free(unsafe.Pointer(p))
	var m messages
	h := C.rw_create(p, &m.c)
	if h == nil {
		return nil, m.err("cannot be made")
	}
	ds := &dataset{h: h}
	if err := m.failed(); err != nil {
		ds.close()
		return nil, err
	}
	return ds, nil
}

// Field types of newLayer, by the names Describe gives them.
var ogrFieldTypes = map[string]C.int{
	"Integer64": C.OFTInteger64, "Real": C.OFTReal, "String": C.OFTString,
}

// Geometry kinds of newLayer, by OGC name; "" is a table without geometry.
var ogrGeometryTypes = map[string]C.int{
	"": C.wkbNone, "Point": C.wkbPoint, "LineString": C.wkbLineString, "Polygon": C.wkbPolygon,
	"MultiPoint": C.wkbMultiPoint, "MultiLineString": C.wkbMultiLineString, "MultiPolygon": C.wkbMultiPolygon,
}

func (ds *dataset) newLayer(name, wkt, geometry string, fields []FieldInfo) (ogrLayer, error) {
	n, w := C.CString(name), C.CString(wkt)
	defer C.free(unsafe.Pointer(n))
	defer C.free(unsafe.Pointer(w))
	var m messages
	h := C.rw_create_layer(ds.h, n, w, ogrGeometryTypes[geometry], &m.c)
	if h == nil || m.c.errors > 0 {
		return ogrLayer{}, m.err("cannot be made")
	}
	for _, f := range fields {
		fn := C.CString(f.Name)
		ok := C.rw_create_field(h, fn, ogrFieldTypes[f.Type], &m.c)
		C.free(unsafe.Pointer(fn))
		if ok == 0 || m.c.errors > 0 {
			return ogrLayer{}, fmt.Errorf("field %q: %w", f.Name, m.err("cannot be made"))
		}
	}
	return ogrLayer{ds: ds, h: h, name: name}, nil
}

func (ds *dataset) begin() error {
	var m messages
	if C.rw_begin(ds.h, &m.c) == 0 || m.c.errors > 0 {
		return m.err("cannot begin to write")
	}
	return nil
}

func (ds *dataset) commit() error {
	var m messages
	if C.rw_commit(ds.h, &m.c) == 0 || m.c.errors > 0 {
		return m.err("cannot finish writing")
	}
	return nil
}

// put adds a feature with the values of all the layer's fields.
func (l ogrLayer) put(wkb []byte, values []Value) error {
	b := make([]byte, 0, 16*len(values)+1)
	for _, v := range values {
		switch v.kind {
		case kindInt:
			b = append(b, C.RW_INT)
			b = binary.NativeEndian.AppendUint64(b, uint64(v.int))
		case kindFloat:
			b = append(b, C.RW_REAL)
			b = binary.NativeEndian.AppendUint64(b, math.Float64bits(v.float))
		case kindText:
			b = append(b, C.RW_TEXT)
			b = binary.NativeEndian.AppendUint32(b, uint32(len(v.text)+1))
			b = append(append(b, v.text...), 0)
		default:
			b = append(b, C.RW_NULL)
		}
	}
	b = append(b, 0) // never empty, so that its first byte can be pointed at
	var m messages
	if C.rw_put(l.h, (*C.uchar)(unsafe.SliceData(wkb)), C.size_t(len(wkb)), (*C.uchar)(&b[0]), C.int(len(values)), &m.c) == 0 || m.c.errors > 0 {
		return m.err("cannot be written")
	}
	return nil
}
