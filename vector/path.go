package vector

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rillwood/raster"
)

// The formats that are read, by the ending of the file name. The driver is
// fixed by it, so that no other driver ever looks at a user's file.
var drivers = map[string]string{
	".gpkg":    "GPKG",
	".shp":     "ESRI Shapefile",
	".geojson": "GeoJSON",
	".json":    "GeoJSON",
	".fgb":     "FlatGeobuf",
	".gdb":     "OpenFileGDB",
}

// resolve turns a user's path into the absolute path of what it finally points
// at, and the driver that may open it.
func resolve(path string) (abs, driver string, err error) {
	info, err := os.Stat(path)
	folder := err == nil && info.IsDir()
	if abs, err = raster.LocalPath(path, folder); err != nil {
		return "", "", err
	}
	ext := strings.ToLower(filepath.Ext(abs))
	driver, known := drivers[ext]
	switch {
	case !known:
		return "", "", fmt.Errorf("%q: not a vector file by its name; read are %s", path, strings.Join(endings(), ", "))
	case ext == ".gdb" && !folder:
		return "", "", fmt.Errorf("%q: a file geodatabase is a folder, this is a file", path)
	case ext != ".gdb" && folder:
		return "", "", fmt.Errorf("%q: this is a folder, a %s is a plain file", path, ext)
	}
	if folder {
		err = raster.PlainFolder(abs)
	} else {
		err = raster.PlainCompanions(abs)
	}
	if err != nil {
		return "", "", fmt.Errorf("%q: %w", path, err)
	}
	return abs, driver, nil
}

func endings() []string {
	out := make([]string, 0, len(drivers))
	for e := range drivers {
		out = append(out, e)
	}
	slices.Sort(out)
	return out
}

// open opens a user's file for reading. A GeoPackage with no write-ahead log
// beside it is opened as immutable, so that not even a lock or a log file is
// left in its folder.
func open(path string) (ds *dataset, abs, driver string, err error) {
	abs, driver, err = resolve(path)
	if err != nil {
		return nil, "", "", err
	}
	_, walErr := os.Stat(abs + "-wal")
	ds, err = openDataset(abs, driver, driver == "GPKG" && os.IsNotExist(walErr))
	if err != nil {
		return nil, "", "", fmt.Errorf("%q: not a readable vector file: %s", path, plainly(err.Error(), abs, driver))
	}
	for i, w := range ds.warnings {
		ds.warnings[i] = plainly(w, abs, driver)
	}
	return ds, abs, driver, nil
}

// plainly takes the file's full path, which stands before it anyway, out of
// what GDAL says.
func plainly(s, abs, driver string) string {
	if strings.Contains(s, "not recognized as a supported file format") {
		return "its content is not " + driver
	}
	if strings.Contains(s, "none://") { // see raster.Setup
		return "it names its coordinate system by an address on a network, where nothing is ever asked; save it again with the system by its name"
	}
	if strings.Contains(s, "OGR_GEOJSON_MAX_OBJ_SIZE") {
		return "one of its features is larger than 200 MB; split it, or make it a .gpkg"
	}
	return strings.ReplaceAll(s, abs, filepath.Base(abs))
}
