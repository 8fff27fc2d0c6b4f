package vector

// #include <stdlib.h>
// #include "ogr.h"
import "C"

import (
	"runtime"
	"sync"
	"unsafe"

	"github.com/paulmach/orb"
)

func takeCRS(c *C.rw_crs) CRS {
	crs := CRS{
		WKT: C.GoString(c.wkt), Name: C.GoString(c.name), EPSG: int(c.epsg),
		Projected: c.projected != 0, Geographic: c.geographic != 0, Local: c.local != 0,
		MetresPerUnit: float64(c.metres),
	}
	C.rw_free(unsafe.Pointer(c.wkt))
	C.rw_free(unsafe.Pointer(c.name))
	return crs
}

func crsFromEPSG(code int) (CRS, error) {
	Setup()
	var m messages
	var c C.rw_crs
	if C.rw_crs_from_epsg(C.int(code), &c, &m.c) == 0 {
		return CRS{}, m.err("unknown code")
	}
	return takeCRS(&c), nil
}

func crsFromWKT(wkt string) (CRS, error) {
	Setup()
	w := C.CString(wkt)
	defer C.free(unsafe.Pointer(w))
	var m messages
	var c C.rw_crs
	if C.rw_crs_from_wkt(w, &c, &m.c) == 0 {
		return CRS{}, m.err("not a WKT of a CRS")
	}
	return takeCRS(&c), nil
}

// transformation is OGR's coordinate transformation; one call at a time.
type transformation struct {
	mu sync.Mutex
	h  C.OGRCoordinateTransformationH
}

func newTransformation(from, to string) (*transformation, error) {
	Setup()
	a, b := C.CString(from), C.CString(to)
	defer C.free(unsafe.Pointer(a))
	defer C.free(unsafe.Pointer(b))
	var m messages
	h := C.rw_transform_new(a, b, &m.c)
	if h == nil {
		return nil, m.err("no way between the two")
	}
	t := &transformation{h: h}
	runtime.AddCleanup(t, func(h C.OGRCoordinateTransformationH) { C.OCTDestroyCoordinateTransformation(h) }, h)
	return t, nil
}

// apply moves the points in place; failed is the index of the first that could
// not be moved, −1 when all were.
func (t *transformation) apply(pts []orb.Point) (failed int, err error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	// The C side counts in int; a million points a call is ample.
	const chunk = 1 << 20
	for first := 0; first < len(pts); first += chunk {
		part := pts[first:min(first+chunk, len(pts))]
		var m messages
		if i := int(C.rw_transform(t.h, (*C.double)(&part[0][0]), C.int(len(part)), &m.c)); i >= 0 {
			return first + i, m.err("outside the area the CRS is made for")
		}
	}
	runtime.KeepAlive(t)
	return -1, nil
}
