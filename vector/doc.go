// Package vector reads features (lines, polygons, points and their fields)
// through GDAL/OGR into plain Go values, lays them on a raster.Frame, looks up
// what lies near a place, and writes GeoJSON and GeoPackage.
//
// GDAL types never leave this package. The C side is kept to ogr.c and the
// ogr*.go files; everything else is Go. Coordinates are always x = east (or longitude),
// y = north (or latitude), whatever order a CRS itself declares.
package vector
