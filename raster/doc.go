// Package raster holds the one grid every layer lands on and the planes of
// cells that lie on it, and is the only package that reads and writes rasters
// through GDAL. The number crunching that needs no GDAL lives in the
// sub-packages terrain and region.
package raster
