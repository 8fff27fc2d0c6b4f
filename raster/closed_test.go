//go:build linux

package raster

import "testing"

// GDAL's calls of PROJ come by our own; where a system links otherwise, this
// says that layers' coordinate systems can open files there.
func TestDoorsAreClosed(t *testing.T) {
	if err := Setup(); err != nil {
		t.Fatal(err)
	}
	if !doorsClosed() {
		t.Error("GDAL calls PROJ without the guard")
	}
}
