package habitat

import (
	"context"
	"errors"
	"path/filepath"
	"runtime"

	"rillwood/habitat/cache"
	"rillwood/habitat/handover"
	"rillwood/raster"
	"rillwood/raster/terrain"
)

// Result is a finished run.
type Result struct {
	Folder    string
	Summary   Summary
	Shortlist *Shortlist
	Profile   *Profile
	Preview   bool // whether preview.png was drawn
	Report    bool // whether report.html was written
}

// Progress is told how far a stage has come, 0 to 1; stages come one after
// another. Calls may come from several goroutines.
type Progress func(stage string, done float64)

// runOptions are the settings that change how a run is done, never what comes out.
type runOptions struct {
	workers      int
	tile         int
	scratch      *raster.Scratch
	cache        *cache.Store
	progress     Progress
	terms        bool    // keep the terms of the bottomland model, for layers and draws
	thresholdKm2 float64 // of channels without a map
}

func (o runOptions) stage(name string) func(done float64) {
	if o.progress == nil {
		return func(float64) {}
	}
	o.progress(name, 0)
	return func(done float64) { o.progress(name, done) }
}

func (o runOptions) terrain(name string) terrain.Options {
	return terrain.Options{Tile: o.tile, Workers: o.workers, Scratch: o.scratch, Progress: o.stage(name)}
}

// defaultTile is the side of a tile: its planes fit a core's cache.
const defaultTile = 512

// Map runs a survey from its layers to its files.
func Map(ctx context.Context, s *Survey, progress Progress) (*Result, error) {
	return mapTiled(ctx, s, 0, progress)
}

// mapTiled is Map with tiles of so many cells a side, which nothing but speed
// may hang on; 0 leaves them to the memory plan.
func mapTiled(ctx context.Context, s *Survey, tile int, progress Progress) (*Result, error) {
	ctx = s.limited(ctx)
	in, err := OpenInputs(ctx, s)
	if err != nil {
		return nil, err
	}
	if s, err = in.withoutPage(); err != nil {
		return nil, err
	}
	o := runOptions{workers: s.Run.Workers, tile: tile, progress: progress, thresholdKm2: s.Streams.ThresholdKm2}
	if o.workers < 1 {
		o.workers = runtime.NumCPU()
	}
	layers := s.wantedLayers()
	o.terms = s.wantsTerms()
	claim, err := handover.Take(s.Output.Folder)
	if err != nil {
		return nil, err
	}
	defer claim.Release()
	if err := guardOutputs(in, s.Output.Folder, outputNames(in.Profile, layers)); err != nil {
		return nil, err
	}
	plan := planMemory(in.Frame, s)
	if o.tile == 0 {
		o.tile = plan.tile
	}
	if o.scratch, err = plan.open(); err != nil {
		return nil, err
	}
	defer o.scratch.Close()
	if o.cache, err = openCache(s); err != nil {
		return nil, err
	}
	digests := startDigests(in)

	ground, err := readGround(ctx, in, o)
	if err != nil {
		return nil, err
	}
	defer ground.close()
	water, err := drain(ctx, ground, s, o)
	if errors.Is(err, errNoHeight) {
		return nil, in.noHeight()
	}
	if err != nil {
		return nil, err
	}
	defer water.close()
	low, high, err := ground.span(ctx, in.Profile)
	if err != nil {
		return nil, err
	}
	table, err := NewHostTables(in.Profile, in.legend(), low, high)
	if err != nil {
		return nil, err
	}
	threshold := s.Shortlist.Threshold
	if threshold == 0 {
		threshold = in.Profile.Suitability.Threshold
	}
	worth := newAppraisal(in.Profile, table, ground.measured)
	judged, err := judge(ctx, ground, water, in.Profile, in.Curve, worth, threshold, o)
	if err != nil {
		return nil, err
	}
	defer judged.close()
	water.close() // its planes are not needed for what follows
	short, err := choose(ctx, in, ground, judged, worth, s.Shortlist, threshold, o)
	if err != nil {
		return nil, err
	}
	files, err := digests()
	if err != nil {
		return nil, err
	}
	p := &publication{in: in, ground: ground, judged: judged, table: table, worth: worth, short: short, files: files, layers: layers, o: o, claim: claim, folder: filepath.Clean(s.Output.Folder)}
	sum, err := p.write(ctx)
	if err != nil {
		return nil, err
	}
	return &Result{Folder: p.folder, Summary: sum, Shortlist: short, Profile: in.Profile, Preview: s.Output.Preview, Report: s.Output.Report}, nil
}

func (in *Inputs) legend() *Legend {
	if in.Cover == nil {
		return nil
	}
	return in.Cover.Legend
}

// wantedLayers lists the layers a survey asks for and has the inputs for, in
// the order of LayerNames.
func (s *Survey) wantedLayers() []string {
	var out []string
	for _, name := range LayerNames {
		if s.WantsLayer(name) && s.hasFor(name) {
			out = append(out, name)
		}
	}
	return out
}

// hasFor tells whether the survey names what a layer is made from.
func (s *Survey) hasFor(layer string) bool {
	switch layer {
	case "evidence":
		return len(s.evidenceLayers()) > 0
	case "valley-flatness":
		return s.Evidence.ValleyFlatness
	case "access":
		return len(s.Access) > 0
	case "keep-out":
		return len(s.KeepOut) > 0
	}
	return true
}
