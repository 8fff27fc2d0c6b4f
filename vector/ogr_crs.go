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

// ownCRS is a layer's CRS by its own account, its horizontal part.
type ownCRS struct {
	wkt, name string
	epsg      int // 0 when none is known
}

// crs gives the layer's CRS, ok false when it has none.
func (l ogrLayer) crs() (crs ownCRS, ok bool, err error) {
	var m messages
	var c C.rw_crs
	if C.rw_layer_crs(l.h, &c, &m.c) == 0 {
		return ownCRS{}, false, m.failed()
	}
	crs = ownCRS{C.GoString(c.wkt), C.GoString(c.name), int(c.epsg)}
	C.rw_free(unsafe.Pointer(c.wkt))
	C.rw_free(unsafe.Pointer(c.name))
	return crs, true, nil
}

// areaOfUse gives where a registered CRS is meant for (degrees; west is larger
// than east when it goes over the antimeridian), ok false when that is not known.
func areaOfUse(epsg int) (wsen [4]float64, ok bool) {
	if epsg < 1 {
		return wsen, false
	}
	Setup()
	ok = C.rw_area_of_use(C.int(epsg), (*C.double)(&wsen[0])) != 0
	return wsen, ok
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
