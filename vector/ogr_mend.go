package vector

// #include "ogr.h"
import "C"

import "unsafe"

// What GEOS says of polygons.
const (
	shapeValid     = C.RW_VALID
	shapeMended    = C.RW_MENDED
	shapeLost      = C.RW_LOST       // not valid, and not to be mended
	shapeNotJudged = C.RW_NOT_JUDGED // this GDAL was built without GEOS
)

// judgesShapes tells whether this GDAL can judge polygons at all.
func judgesShapes() bool { return bool(C.OGRGetGEOSVersion(nil, nil, nil)) }

// judgeWKB has GEOS judge polygons: valid, lost for not valid, or not judged.
func judgeWKB(wkb []byte) int {
	return int(C.rw_mend((*C.uchar)(unsafe.SliceData(wkb)), C.size_t(len(wkb)), nil))
}

// mendWKB has GEOS judge polygons and mend those that are not valid.
func mendWKB(wkb []byte) (mended []byte, verdict int) {
	var buf C.rw_buf
	verdict = int(C.rw_mend((*C.uchar)(unsafe.SliceData(wkb)), C.size_t(len(wkb)), &buf))
	if verdict == shapeMended {
		mended = C.GoBytes(unsafe.Pointer(buf.data), C.int(buf.len))
		C.rw_buf_free(&buf)
	}
	return mended, verdict
}
