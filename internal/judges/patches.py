# Lays the polygons of a GeoJSON file over a raster and prints what is found:
# validity and overlaps by GEOS, cells by GDAL's centre rule.
import json, sys
import numpy
import shapely.wkb
from shapely.geometry import shape
from shapely.ops import transform
from shapely.validation import explain_validity
from osgeo import gdal, ogr, osr

gdal.UseExceptions()
with open(sys.argv[1]) as f:
    features = json.load(f)["features"]
raster = gdal.Open(sys.argv[2])
band = raster.GetRasterBand(1)
values, nodata = band.ReadAsArray(), band.GetNoDataValue()
geo = raster.GetGeoTransform()
srs = raster.GetSpatialRef()
lonlat = osr.SpatialReference()
lonlat.ImportFromEPSG(4326)
for s in (srs, lonlat):
    s.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
onto = osr.CoordinateTransformation(lonlat, srs)


def project(xs, ys, z=None):
    pts = onto.TransformPoints([(x, y) for x, y in zip(xs, ys)])
    return [p[0] for p in pts], [p[1] for p in pts]


def cells_inside(geometry):
    """The cells whose centre lies in the geometry, as a mask."""
    mask = gdal.GetDriverByName("MEM").Create("", raster.RasterXSize, raster.RasterYSize, 1, gdal.GDT_Byte)
    mask.SetGeoTransform(geo)
    mask.SetSpatialRef(srs)
    source = ogr.GetDriverByName("Memory").CreateDataSource("")
    layer = source.CreateLayer("patch", srs)
    feature = ogr.Feature(layer.GetLayerDefn())
    feature.SetGeometry(ogr.CreateGeometryFromWkb(shapely.wkb.dumps(geometry)))
    layer.CreateFeature(feature)
    gdal.RasterizeLayer(mask, [1], layer, burn_values=[1])
    return mask.ReadAsArray() == 1


cell_m2 = abs(geo[1] * geo[5])
shapes = [shape(f["geometry"]) for f in features]
flat = [transform(project, s) for s in shapes]
out = []
for i, f in enumerate(features):
    mask = cells_inside(flat[i])
    inside = values[mask].astype("float64")
    known = inside[inside != nodata]
    # Neighbours have the same corners in longitude and latitude, so what they
    # share is looked for there, before projecting bends the edges.
    overlaps, most = [], 0.0
    for k, other in enumerate(shapes):
        # What GEOS calls invalid it cannot intersect; it is told of as such.
        if k == i or not (shapes[i].is_valid and other.is_valid and shapes[i].intersects(other)):
            continue
        common = transform(project, shapes[i].intersection(other)).area
        most = max(most, common)
        if common > 1e-3:
            overlaps.append(features[k]["id"])
    out.append({
        "id": f["id"],
        "invalid": "" if shapes[i].is_valid and flat[i].is_valid else explain_validity(shapes[i]),
        "cells": int(mask.sum()),
        "mean": float(known.mean()) if known.size else -1.0,
        "nodata": int(inside.size - known.size),
        "shape_ha": flat[i].area / 1e4,
        "cells_ha": float(mask.sum()) * cell_m2 / 1e4,
        "overlaps": overlaps,
        "shared_m2": most,
    })
print(json.dumps(out))
