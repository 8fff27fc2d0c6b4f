package raster

// #cgo pkg-config: proj sqlite3
// #cgo linux LDFLAGS: -ldl
// #include "closed.h"
import "C"

// closeDoors keeps the libraries under GDAL to their own files: PROJ reads its
// own folders only, whatever grid a layer's coordinate system names, and
// SQLite runs no view of a file that is read. It tells whether SQLite and PROJ
// are there to be asked.
func closeDoors() bool { return C.rw_close_doors() != 0 }

// doorsClosed tells whether what GDAL asks of PROJ comes by closeDoors. Where it
// does not, other guards still stand, and a test says so.
func doorsClosed() bool { return C.rw_doors_closed() != 0 }
