package habitat

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"rillwood/habitat/cache"
	"rillwood/raster"
	"rillwood/raster/terrain"
)

// cacheLimit is how many bytes kept stages may take.
const cacheLimit = 2 << 30

// errNoHeight stands for ground without a height.
var errNoHeight = errors.New("every cell is nodata")

// openCache opens the store the survey names. With auto, a folder that cannot
// be had keeps nothing; one named by the user must be had.
func openCache(s *Survey) (*cache.Store, error) {
	switch s.Run.Cache {
	case "", "none":
		return nil, nil
	case "auto":
		base, err := os.UserCacheDir()
		if err != nil {
			return nil, nil
		}
		store, err := cache.Open(filepath.Join(base, "rillwood"), cacheLimit)
		if err != nil {
			return nil, nil
		}
		return store, nil
	}
	store, err := cache.Open(s.Run.Cache, cacheLimit)
	if err != nil {
		return nil, wrong("run.cache", "%v", err)
	}
	return store, nil
}

// drained is what routing and counting give, kept from run to run: they hang
// on the elevation, the streams on it and the water that comes in, and on no
// weight of the profile.
func drained(ctx context.Context, g *ground, inflows []terrain.Inflow, o runOptions) (*water, error) {
	rule := breachRule(g.frame.Cell)
	surface := &terrain.Surface{Z: g.z, Burn: g.burn, Drop: terrain.StreamDrops(burnReach, burnLeanM), Breach: rule}
	k := cache.NewKeyer("drainage")
	if o.cache != nil {
		k.Settings(g.frame.W, g.frame.H, g.frame.Cell, surface.Drop, rule, inflows)
		cache.AddPlane(k, g.z)
		cache.AddPlane(k, g.burn)
	}
	if w, ok := keptWater(g, k.Key(), o); ok {
		return w, nil
	}
	r, err := terrain.Route(ctx, surface, o.terrain("routing water"))
	if err != nil {
		return nil, err
	}
	if r.Stats.Cells == 0 {
		r.Dir.Close()
		return nil, errNoHeight
	}
	area, err := terrain.Accumulate(ctx, r, g.frame.CellKm2(), inflows, o.terrain("counting drainage"))
	if err != nil {
		r.Dir.Close()
		return nil, err
	}
	if dir, ok := cache.PlanePiece(r.Dir); ok {
		if km2, ok := cache.PlanePiece(area); ok {
			o.cache.Save(k.Key(), r.Stats, dir, km2)
		}
	}
	return &water{r, area}, nil
}

// keptWater finds what an earlier run has worked out.
func keptWater(g *ground, key cache.Key, o runOptions) (*water, bool) {
	if o.cache == nil || key == "" || o.scratch != nil {
		return nil, false
	}
	dir, err := raster.NewPlane[uint8](g.frame.W, g.frame.H, nil)
	if err != nil {
		return nil, false
	}
	area, err := raster.NewPlane[float32](g.frame.W, g.frame.H, nil)
	if err != nil {
		dir.Close()
		return nil, false
	}
	r := &terrain.Routing{Dir: dir, Tiles: raster.NewTiling(g.frame.W, g.frame.H, o.tile)}
	a, _ := cache.PlanePiece(dir)
	b, _ := cache.PlanePiece(area)
	if o.cache.Load(key, &r.Stats, a, b) {
		o.stage("routing water")(1)
		o.stage("counting drainage")(1)
		return &water{r, area}, true
	}
	dir.Close()
	area.Close()
	return nil, false
}

// keptFlatness measures the valley flatness, or finds it.
func keptFlatness(ctx context.Context, g *ground, o runOptions) (*raster.Plane[uint8], error) {
	k := cache.NewKeyer("flatness")
	if o.cache != nil && o.scratch == nil {
		k.Settings(g.frame.W, g.frame.H, g.frame.Cell)
		cache.AddPlane(k, g.z)
		if p, err := raster.NewPlane[uint8](g.frame.W, g.frame.H, nil); err == nil {
			piece, _ := cache.PlanePiece(p)
			if o.cache.Load(k.Key(), &struct{}{}, piece) {
				o.stage("measuring valley flatness")(1)
				return p, nil
			}
			p.Close()
		}
	}
	p, err := terrain.StoredFlatness(ctx, g.z, g.frame.Cell, o.terrain("measuring valley flatness"))
	if err != nil {
		return nil, err
	}
	if piece, ok := cache.PlanePiece(p); ok && o.scratch == nil {
		o.cache.Save(k.Key(), struct{}{}, piece)
	}
	return p, nil
}
