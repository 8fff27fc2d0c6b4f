package raster

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"

	"github.com/airbusgeo/godal"
)

// The raster drivers a user's layer may need. Only these are ever registered,
// and each open names the ones it allows, so that a file cannot reach a driver
// that talks to a network. VRT, MEM and COG are for Rillwood's own use.
var (
	inputDrivers = []string{"GTiff", "HFA", "AAIGrid", "EHdr", "ENVI", "SRTMHGT", "USGSDEM", "GPKG", "GRASSASCIIGrid", "BIL", "PNG", "JPEG"}
	setupOnce    sync.Once
	setupErr     error
)

// Setup registers the drivers and sets GDAL's environment. It is called by
// every function that needs it; a program calls it first in main so that
// the environment is set before any thread runs.
func Setup() error {
	setupOnce.Do(func() {
		for k, v := range map[string]string{
			"GDAL_PAM_ENABLED":                 "NO",        // never write a sidecar beside a user's file
			"GDAL_DISABLE_READDIR_ON_OPEN":     "EMPTY_DIR", // nor trust one
			"PROJ_NETWORK":                     "OFF",
			"SPATIALITE_LOAD":                  "NO",                   // its virtual tables read any file that a GeoPackage names
			"CPL_LOG":                          os.DevNull,             // what GDAL has to say comes with the call's error, not beside it
			"OGR_CURRENT_DATE":                 "2000-01-01T00:00:00Z", // same input, same bytes
			"GDAL_NUM_THREADS":                 "1",
			"CPL_VSIL_CURL_ALLOWED_EXTENSIONS": ".none",
			"GDAL_HTTP_PROXY":                  "none://", // no such kind of proxy: a request ends before any socket is made
			"GDAL_HTTPS_PROXY":                 "none://",
		} {
			os.Setenv(k, v)
		}
		if os.Getenv("GDAL_CACHEMAX") == "" {
			// Blocks are read once and streamed on: a large cache only grows
			// the process. In MB.
			os.Setenv("GDAL_CACHEMAX", "32")
		}
		for _, k := range []string{"NO_PROXY", "no_proxy", "HTTP_PROXY", "HTTPS_PROXY", "http_proxy", "https_proxy", "ALL_PROXY", "all_proxy"} {
			os.Unsetenv(k)
		}
		if !closeDoors() {
			setupErr = errors.New("PROJ has no folder of its own, or SQLite takes no guard: install proj-data and libsqlite3")
			return
		}
		for _, d := range append([]string{"VRT", "MEM", "COG"}, inputDrivers...) {
			name := godal.DriverName(d)
			if d == "MEM" {
				name = godal.Memory
			}
			// A driver this GDAL was built without is no loss until a file needs it.
			if err := godal.RegisterRaster(name); err != nil && (d == "GTiff" || d == "VRT" || d == "COG" || d == "MEM") {
				setupErr = fmt.Errorf("GDAL has no %s driver: %w", d, err)
			}
		}
		if _, err := wktOfEPSG(4326); err != nil {
			setupErr = fmt.Errorf("PROJ finds no coordinate systems (install the package proj-data): %w", err)
		}
	})
	return setupErr
}

// messages collects what GDAL says during one call: failures become the
// call's error, warnings are kept.
type messages struct {
	mu       sync.Mutex
	warnings []string
}

func (m *messages) handle(ec godal.ErrorCategory, code int, msg string) error {
	msg = strings.Join(strings.Fields(msg), " ")
	if ec >= godal.CE_Failure {
		return errors.New(msg)
	}
	if ec == godal.CE_Warning {
		m.mu.Lock()
		m.warnings = append(m.warnings, msg)
		m.mu.Unlock()
	}
	return nil
}

// strict is the handler for calls whose warnings say nothing a user needs.
func strict(ec godal.ErrorCategory, code int, msg string) error {
	if ec >= godal.CE_Failure {
		return errors.New(strings.Join(strings.Fields(msg), " "))
	}
	return nil
}

// Versions names the GDAL in use, for the run record.
func Versions() string {
	v := godal.Version()
	return fmt.Sprintf("GDAL %d.%d.%d", v.Major(), v.Minor(), v.Revision())
}
