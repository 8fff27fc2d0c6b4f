package vector

// #cgo pkg-config: gdal
// #include <stdlib.h>
// #include "ogr.h"
import "C"

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"sync"
	"unicode"
	"unsafe"

	"rillwood/raster"
)

// fixedDate is the last-change time written into a GeoPackage, in the form the
// standard asks for (OGC GeoPackage, gpkg_contents.last_change; from memory).
const fixedDate = "2000-01-01T00:00:00.000Z"

// Setup registers the few vector drivers this package opens and forbids PROJ
// the network, after raster.Setup has set the environment both packages share.
// It is called by everything that needs it; calling it early, in main, is
// allowed.
var Setup = sync.OnceFunc(func() {
	// What raster.Setup misses is told by the call that needs it.
	_ = raster.Setup()
	date := C.CString(fixedDate)
	defer C.free(unsafe.Pointer(date))
	C.rw_setup(date)
})

// errView refuses what only SQL in a file would give.
var errView = errors.New("it holds a view, SQL of its own, which is never run; save it again as a table")

// messages are what GDAL said during one call.
type messages struct{ c C.rw_log }

// err is GDAL's first error on one line, or otherwise when it raised none.
func (m *messages) err(otherwise string) error {
	if m.c.errors == 0 {
		return errors.New(otherwise)
	}
	said := oneLine(C.GoString(&m.c.error[0]))
	for _, sign := range []string{"not authorized", "is prohibited", "unsafe use of"} { // SQLite's words; see raster.Setup
		if strings.Contains(said, sign) {
			return errView
		}
	}
	return errors.New(said)
}

// failed is GDAL's first error, nil when it raised none.
func (m *messages) failed() error {
	if m.c.errors == 0 {
		return nil
	}
	return m.err("")
}

// warnings are the distinct warnings raised, each on one line.
func (m *messages) warnings() []string {
	if m.c.warnings == 0 {
		return nil
	}
	var out []string
	for _, s := range strings.Split(C.GoString(&m.c.warning[0]), "\n") {
		if s = oneLine(s); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// oneLine makes one line of a text from outside, fit for a screen: what does
// not print becomes U+FFFD.
func oneLine(s string) string {
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "\uFFFD")), " ")
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '\uFFFD'
		}
		return r
	}, s)
}

// dataset is an open file. It must be used by one goroutine at a time.
type dataset struct {
	h        C.GDALDatasetH
	buf      C.rw_buf
	warnings []string
}

func openDataset(path, driver string, immutable bool) (*dataset, error) {
	Setup()
	p, d := C.CString(path), C.CString(driver)
	defer C.free(unsafe.Pointer(p))
	defer C.free(unsafe.Pointer(d))
	var m messages
	h := C.rw_open(p, d, cbool(immutable), &m.c)
	if h == nil {
		return nil, m.err("not recognised as " + driver)
	}
	ds := &dataset{h: h, warnings: m.warnings()}
	if err := m.failed(); err != nil {
		ds.close()
		return nil, err
	}
	return ds, nil
}

// close releases the file; the error is what GDAL said while writing the rest.
func (ds *dataset) close() error {
	if ds.h == nil {
		return nil
	}
	var m messages
	C.rw_close(ds.h, &m.c)
	C.rw_buf_free(&ds.buf)
	ds.h = nil
	return m.failed()
}

// ogrLayer is one layer of an open dataset, valid until that is closed.
type ogrLayer struct {
	ds       *dataset
	h        C.OGRLayerH
	name     string
	geometry string // OGR's name of the kind; "None" for a table
	spatial  bool
	err      error // what GDAL said while it read the layer's definition
}

func (ds *dataset) layers() []ogrLayer {
	n := int(C.GDALDatasetGetLayerCount(ds.h))
	out := make([]ogrLayer, 0, n)
	for i := range n {
		var m messages
		var kind C.int
		h := C.rw_layer(ds.h, C.int(i), &kind, &m.c)
		if h == nil {
			continue
		}
		out = append(out, ogrLayer{
			ds: ds, h: h, name: C.GoString(C.OGR_L_GetName(h)),
			geometry: C.GoString(C.OGRGeometryTypeToName(C.OGRwkbGeometryType(kind))),
			spatial:  kind != C.wkbNone,
			err:      m.failed(),
		})
	}
	return out
}

func (l ogrLayer) fields() []FieldInfo {
	defn := C.OGR_L_GetLayerDefn(l.h)
	out := make([]FieldInfo, C.OGR_FD_GetFieldCount(defn))
	for i := range out {
		f := C.OGR_FD_GetFieldDefn(defn, C.int(i))
		out[i].Name = C.GoString(C.OGR_Fld_GetNameRef(f))
		out[i].Type = C.GoString(C.OGR_GetFieldTypeName(C.OGR_Fld_GetType(f)))
		if C.OGR_Fld_GetSubType(f) == C.OFSTBoolean {
			out[i].Type = "Boolean"
		}
	}
	return out
}

// keyColumn is the name of the column that holds the feature id, "" when the
// format has none.
func (l ogrLayer) keyColumn() string { return C.GoString(C.OGR_L_GetFIDColumn(l.h)) }

func (l ogrLayer) shapeColumn() string { return C.GoString(C.OGR_L_GetGeometryColumn(l.h)) }

func (l ogrLayer) count() (int, error) {
	var m messages
	n := int(C.rw_count(l.h, &m.c))
	return n, m.failed()
}

func (l ogrLayer) extent() (wsen [4]float64, ok bool) {
	ok = C.rw_extent(l.h, (*C.double)(&wsen[0])) != 0
	return wsen, ok
}

func (l ogrLayer) filter(where string, bounds *[4]float64) error {
	if where != "" {
		w := C.CString(where)
		defer C.free(unsafe.Pointer(w))
		var m messages
		if C.rw_where(l.h, w, &m.c) == 0 || m.c.errors > 0 {
			return m.err("filter not understood")
		}
	}
	if bounds != nil {
		var m messages
		C.rw_box(l.h, (*C.double)(&bounds[0]), &m.c)
		return m.failed()
	}
	return nil
}

// rawFeature is a feature as it came, its geometry still WKB (nil for none).
// The bytes of wkb are only valid until the next batch.
type rawFeature struct {
	fid    int64
	wkb    []byte
	values []Value
}

// ownSQL refuses a layer of a GeoPackage that comes from SQL in the file.
func (l ogrLayer) ownSQL() error {
	name := C.CString(strings.ReplaceAll(l.name, "'", "''"))
	defer C.free(unsafe.Pointer(name))
	var m messages
	switch C.rw_own_sql(l.ds.h, name, &m.c) {
	case 2:
		return errView
	case 1:
		return errors.New("columns of it are reckoned by expressions in the file, which are never run; save it again with their values")
	}
	return m.failed()
}

// rewind goes back to the first feature.
func (l ogrLayer) rewind() {
	var m messages
	C.rw_rewind(l.h, &m.c)
}

// read gives up to limit features with the fields at the given positions.
func (l ogrLayer) read(positions []int, limit int) (batch []rawFeature, end bool, warnings []string, err error) {
	fields := make([]C.int, len(positions))
	for i, p := range positions {
		fields[i] = C.int(p)
	}
	var m messages
	var stop C.int
	n := int(C.rw_next(l.h, unsafe.SliceData(fields), C.int(len(fields)), C.int(limit), &l.ds.buf, &stop, &m.c))
	if n < 0 {
		return nil, true, m.warnings(), m.err("read error")
	}
	b := decoder{unsafe.Slice((*byte)(l.ds.buf.data), int(l.ds.buf.len))}
	batch = make([]rawFeature, n)
	for i := range batch {
		f := &batch[i]
		f.fid = int64(b.uint64())
		if size := b.uint32(); size != math.MaxUint32 {
			f.wkb = b.bytes(int(size))
		}
		f.values = make([]Value, len(fields))
		for j := range f.values {
			switch b.bytes(1)[0] {
			case C.RW_INT:
				f.values[j] = IntValue(int64(b.uint64()))
			case C.RW_REAL:
				f.values[j] = FloatValue(math.Float64frombits(b.uint64()))
			case C.RW_TEXT:
				f.values[j] = TextValue(string(b.bytes(int(b.uint32()))))
			}
		}
	}
	return batch, stop != 0, m.warnings(), nil
}

// decoder walks the byte stream that rw_next writes.
type decoder struct{ rest []byte }

func (d *decoder) bytes(n int) []byte {
	b := d.rest[:n:n]
	d.rest = d.rest[n:]
	return b
}

func (d *decoder) uint32() uint32 { return binary.NativeEndian.Uint32(d.bytes(4)) }
func (d *decoder) uint64() uint64 { return binary.NativeEndian.Uint64(d.bytes(8)) }

func cbool(b bool) C.int {
	if b {
		return 1
	}
	return 0
}
