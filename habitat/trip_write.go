package habitat

import (
	"fmt"
	"os"
	"path/filepath"

	"rillwood/habitat/trip"
)

// Files of a plan.
const (
	tripName    = "trip.json"
	tripGPX     = "trip.gpx"
	tripGeoJSON = "trip.geojson"
)

// WriteTrip writes a plan into a folder, which is made when it is not there:
// each file beside its place first, trip.json last, so that it is never newer
// than the others. gpx writes the GPX file. It gives their names.
func WriteTrip(folder string, p *trip.Plan, gpx func(path string, p *trip.Plan) error) ([]string, error) {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return nil, fmt.Errorf("trip: the folder %q cannot be made: %w", folder, err)
	}
	if err := gpx(filepath.Join(folder, tripGPX), p); err != nil {
		return nil, err
	}
	if err := p.WriteGeoJSON(filepath.Join(folder, tripGeoJSON)); err != nil {
		return nil, err
	}
	if err := p.Write(filepath.Join(folder, tripName)); err != nil {
		return nil, err
	}
	return []string{tripName, tripGPX, tripGeoJSON}, nil
}
