package inventory

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"rillwood/raster"
)

// ReadTrees reads records of single trees and gives for each host that was
// looked for its density on the frame, smoothed by a Gaussian kernel, and, for
// hosts with dead or dying records, the local dead share.
//
//   - Density, trees per hectare: records are counted into cells, convolved
//     with the kernel (cut at four standard deviations) and divided by the
//     kernel's mass on surveyed ground, so that density does not sink towards
//     its border (Diggle 1985, Applied Statistics 34:138–147, from memory).
//     Surveyed ground without a tree has density 0: that is measured too.
//   - Dead share: smoothed dead and dying among smoothed records with a status,
//     with the profile's share mixed in as DeadPrior trees standing on the
//     spot. It only ever raises the profile's share.
//   - Weight: 1 on surveyed ground, falling to 0 over BlendM towards its border.
//
// The strings are what to tell the user. Planes are w×h of the frame; they may
// live in scratch. The result does not depend on workers or scratch.
func ReadTrees(ctx context.Context, s TreeSource, hosts []Host, f raster.Frame, scratch *raster.Scratch, workers int) ([]Measured, []string, error) {
	o, err := s.settings(f)
	if err != nil {
		return nil, nil, err
	}
	fail := func(err error) ([]Measured, []string, error) { return nil, nil, fmt.Errorf("%q: %w", o.path, err) }
	if err := checkHosts(hosts); err != nil {
		return fail(err)
	}
	covered, err := s.covered(hosts)
	if err != nil {
		return fail(err)
	}
	read := s.readCSV
	if s.CSV == "" {
		read = s.readPoints
	}
	r, wkt, err := read(ctx, o, hosts)
	if err != nil {
		return nil, nil, err
	}
	if err := r.checkSome(); err != nil {
		return fail(err)
	}
	if err := r.checkSpecies(); err != nil {
		return fail(err)
	}
	if err := r.place(ctx, wkt, f); err != nil {
		return fail(err)
	}
	if err := r.checkSome(); err != nil {
		return fail(err)
	}
	var notes []string
	for _, n := range r.findings() {
		notes = append(notes, o.name+": "+n)
	}
	if covered == nil {
		covered = r.named
	}
	polygons, more, err := s.ground(ctx, r, o, f)
	if err != nil {
		return fail(err)
	}
	notes = append(notes, more...)
	pad := max(len(o.kernel)-1, int(math.Ceil(o.blendM/f.Cell))+2)
	e, err := newExtent(ctx, polygons, f, pad, scratch)
	if err != nil {
		return fail(err)
	}
	if e == nil {
		return nil, append(notes, o.name+": none of its surveyed ground lies on the map; nothing is taken from it"), nil
	}
	defer e.outside.Close()
	out, more, err := e.measure(ctx, r, o, hosts, covered, f, scratch, workers)
	if err != nil {
		return fail(err)
	}
	return out, append(notes, more...), nil
}

// ground is the surveyed ground as polygons in the frame's system.
func (s TreeSource) ground(ctx context.Context, r *reading, o settings, f raster.Frame) ([]orb.Geometry, []string, error) {
	if s.Extent.Path != "" {
		return readExtent(ctx, s.Extent, f)
	}
	hull := grownHull(r.records, o.sigmaM/2)
	ha := ringArea(hull[0]) / 1e4
	// Records in squares of one bandwidth tell a hull that spans empty country.
	squares := map[[2]int64]bool{}
	for _, t := range r.records {
		squares[[2]int64{int64(math.Floor(t.x / o.sigmaM)), int64(math.Floor(t.y / o.sigmaM))}] = true
	}
	share := min(1, float64(len(squares))*o.sigmaM*o.sigmaM/1e4/ha)
	note := fmt.Sprintf("%s: no surveyed ground given: the convex hull of its %d records, grown by %g m, is taken for it (%.0f ha, records in about %.0f %% of it); where no record lies inside, no tree is taken to stand", o.name, len(r.records), o.sigmaM/2, ha, 100*share)
	if share < 0.25 {
		note += "; most of it is far from any record: give polygons of what was surveyed"
	}
	return []orb.Geometry{hull}, []string{note}, nil
}

// checkSome refuses a source of which nothing can be used.
func (r *reading) checkSome() error {
	all := len(r.records) + r.badPlace.n
	if r.turned > 0 && 2*r.turned >= all {
		return fmt.Errorf("%d of %s have a latitude beyond 90 and a longitude within: name the columns of longitude and latitude the other way round", r.turned, counted(all))
	}
	if len(r.records) > 0 {
		return nil
	}
	if all == 0 {
		return fmt.Errorf("no record in it")
	}
	return fmt.Errorf("none of its %s has a usable place, as in %s; give numbers, in the system named", counted(all), &r.badPlace)
}
