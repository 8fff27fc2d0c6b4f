package handover

import (
	"path/filepath"
	"strings"
)

// Names of what a run keeps in or beside its folder while it works.
const (
	leftover     = ".rillwood-"      // every temporary file and folder begins so
	stagePrefix  = ".rillwood-new-"  // stage in the folder
	besidePrefix = ".rillwood-next-" // stage beside the folder; a digest of its name follows
	journalName  = ".rillwood-moves" // what is left to move
	markName     = ".rillwood-past"  // in results whose place others are to take: their names
	lockName     = ".rillwood-lock"  // where folders cannot be locked
	probeName    = ".rillwood-probe"
	layersName   = "layers" // the one folder of a run's results
)

// Owns tells whether a run writes files of this (slashed) name. Nothing
// else is ever moved, replaced or removed.
func Owns(name string) bool {
	if layer, ok := strings.CutPrefix(name, layersName+"/"); ok {
		return strings.HasSuffix(layer, ".tif") && layer == filepath.Base(layer) && !strings.HasPrefix(layer, ".")
	}
	switch name {
	case "suitability.tif", "relief.tif", "streams.gpkg", "shortlist.geojson", "ways.geojson",
		"target-profile.yaml", "preview.png", "report.html", "run.json":
		return true
	}
	return false
}
