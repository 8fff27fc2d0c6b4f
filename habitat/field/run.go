package field

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"rillwood/raster"
	"rillwood/vector"
)

// Run is a map that records may speak of: its candidates by rank, and the
// ground it covers.
type Run struct {
	ID         string
	candidates map[int]candidate
	bounds     [4]float64 // in the map's own CRS
	to         *vector.Transformer
}

type candidate struct {
	middle orb.Point
	bound  orb.Bound // degrees
}

// maxRunFile is the size of a run.json that is read, in bytes.
const maxRunFile = 16 << 20

// OpenRun reads what records need of a run's folder: run.json, shortlist.geojson
// and the extent of suitability.tif.
func OpenRun(ctx context.Context, dir string) (*Run, error) {
	path := filepath.Join(dir, "run.json")
	info, err := os.Stat(path)
	if err != nil || !info.Mode().IsRegular() || info.Size() > maxRunFile {
		return nil, fmt.Errorf("run %q: no run.json in it; name the folder a map was written into", dir)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("run: %w", err)
	}
	var head struct {
		Format string `json:"format"`
		Run    string `json:"run"`
	}
	if err := json.Unmarshal(data, &head); err != nil || !strings.HasPrefix(head.Format, "rillwood-run-") || head.Run == "" {
		return nil, fmt.Errorf("run %q: not the record of a map; make the map again", path)
	}
	if head.Format != "rillwood-run-1" {
		return nil, fmt.Errorf("run %q: format %q, this program reads \"rillwood-run-1\"", path, clipped(head.Format))
	}
	r := &Run{ID: Clean(head.Run)}
	raw, err := raster.Describe(filepath.Join(dir, "suitability.tif"), "")
	if err != nil {
		return nil, fmt.Errorf("run: %w", err)
	}
	r.bounds = raw.Bounds()
	if r.to, err = vector.FromWGS84(raw.CRS.WKT); err != nil {
		return nil, fmt.Errorf("run %q: %w", dir, err)
	}
	return r, r.readCandidates(ctx, filepath.Join(dir, "shortlist.geojson"))
}

func (r *Run) readCandidates(ctx context.Context, path string) error {
	r.candidates = map[int]candidate{}
	layer, err := vector.Read(ctx, vector.Query{Path: path, Fields: []string{"rank", "lon", "lat"}}, raster.WGS84())
	if errors.Is(err, vector.ErrEmpty) {
		return nil
	} else if err != nil {
		return fmt.Errorf("run: %w", err)
	}
	for i, f := range layer.Features {
		rank, ok := f.Values[0].Int()
		lon, okX := f.Values[1].Float()
		lat, okY := f.Values[2].Float()
		if !ok || !okX || !okY || rank < 1 || rank > 1e6 {
			return fmt.Errorf("run: %q feature %d: no rank, lon and lat; make the map again", path, i+1)
		}
		r.candidates[int(rank)] = candidate{orb.Point{lon, lat}, f.Geometry.Bound()}
	}
	return nil
}

// Middle is a point in the middle of a candidate, WGS 84; ok is false when
// the run lists no candidate of that rank.
func (r *Run) Middle(rank int) (p orb.Point, ok bool) {
	c, ok := r.candidates[rank]
	return c.middle, ok
}

// Inside tells whether a place lies on the map, its nodata cells included.
func (r *Run) Inside(lon, lat float64) bool {
	if !onGlobe(lon, lat) {
		return false
	}
	p, err := r.to.Point(orb.Point{lon, lat})
	return err == nil && p[0] >= r.bounds[0] && p[0] <= r.bounds[2] && p[1] >= r.bounds[1] && p[1] <= r.bounds[3]
}

// Away gives how far a place lies from the box about a candidate, in metres;
// 0 within it and for a rank that is not listed.
func (r *Run) Away(rank int, lon, lat float64) float64 {
	c, ok := r.candidates[rank]
	if !ok {
		return 0
	}
	near := orb.Point{min(max(lon, c.bound.Min[0]), c.bound.Max[0]), min(max(lat, c.bound.Min[1]), c.bound.Max[1])}
	return metresApart(orb.Point{lon, lat}, near)
}

func onGlobe(lon, lat float64) bool { return lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90 }
