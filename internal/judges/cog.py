# Prints {path: [fault, ...]} for the GeoTIFFs named.
import json, sys
from osgeo import gdal
from osgeo_utils.samples import validate_cloud_optimized_geotiff as cog

gdal.UseExceptions()
faults = {}
for path in sys.argv[1:]:
    try:
        warnings, errors, _ = cog.validate(path, full_check=True)
        faults[path] = list(errors) + list(warnings)
    except (cog.ValidateCloudOptimizedGeoTIFFException, RuntimeError) as e:
        faults[path] = [str(e)]
print(json.dumps(faults))
