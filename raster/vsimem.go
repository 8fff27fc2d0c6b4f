package raster

import (
	"fmt"
	"sync/atomic"
)

var vsimemCount atomic.Int64

// vsimem names a fresh file in GDAL's memory file system; names are never
// shared between goroutines, which GDAL 3.6 would not survive.
func vsimem(suffix string) string {
	return fmt.Sprintf("/vsimem/rillwood-%d-%s", vsimemCount.Add(1), suffix)
}
