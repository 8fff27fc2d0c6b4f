package inventory

import (
	"bytes"
	"context"
	"math"

	"rillwood/raster"
)

// smoothing turns counted trees into the planes of the run's frame.
type smoothing struct {
	*extent
	settings
	hosts  []Host
	counts []census
	run    raster.Frame
	out    []Measured
}

// desk is one worker's memory: a few windows, whatever the size of the map.
type desk struct {
	window
	ground []uint8
	mass   []float64
	sum    [channels][]float64
	trees  []uint16
	share  []uint8
}

// all smooths every tile of the run's frame and counts the cells whose density
// was cut off.
func (s *smoothing) all(ctx context.Context, workers int) (int64, error) {
	tiles := raster.NewTiling(s.run.W, s.run.H, tileSide)
	workers = max(1, min(workers, tiles.N()))
	desks := make([]*desk, workers)
	full := make([]int64, workers)
	err := tiles.Each(ctx, workers, func(worker int, t raster.Tile) error {
		if desks[worker] == nil {
			desks[worker] = s.newDesk()
		}
		n, err := s.tile(desks[worker], t)
		full[worker] += n
		return err
	})
	var sum int64
	for _, n := range full {
		sum += n
	}
	return sum, err
}

func (s *smoothing) newDesk() *desk {
	r := len(s.kernel) - 1
	w, h := min(tileSide, s.run.W), min(tileSide, s.run.H)
	d := &desk{window: window{kernel: s.kernel, row: make([]float64, w)}}
	d.ground, d.mass = make([]uint8, (w+2*r)*(h+2*r)), make([]float64, w*h)
	for k := range d.sum {
		d.sum[k] = make([]float64, w*h)
	}
	d.trees, d.share = make([]uint16, w*h), make([]uint8, w*h)
	return d
}

// tile smooths one window for every host.
func (s *smoothing) tile(d *desk, t raster.Tile) (full int64, err error) {
	r, n := len(s.kernel)-1, t.W*t.H
	d.x, d.y, d.w, d.h = t.X+s.dx, t.Y+s.dy, t.W, t.H
	ground := d.ground[:(t.W+2*r)*(t.H+2*r)]
	if err := s.outside.ReadPadded(d.x-r, d.y-r, t.W+2*r, t.H+2*r, ground, 1); err != nil {
		return 0, err
	}
	if bytes.IndexByte(ground, 0) < 0 {
		return 0, nil
	}
	mass := d.mass[:n]
	if bytes.IndexByte(ground, 1) < 0 {
		for i := range mass {
			mass[i] = 1
		}
	} else {
		d.window.mass(ground, mass)
	}
	surveyed := func(i int) bool { return ground[(i/t.W+r)*(t.W+2*r)+i%t.W+r] == 0 }
	for i := range s.out {
		m := &s.out[i]
		c := &s.counts[m.Host]
		all := d.sum[allTrees][:n]
		if !d.points(c.stands, s.frame.W, allTrees, all) {
			continue
		}
		trees := d.trees[:n]
		clear(trees)
		for j, v := range all {
			if v > 0 && surveyed(j) {
				var cut bool
				if trees[j], cut = storeTrees(v / mass[j] / s.run.CellHa()); cut {
					full++
				}
			}
		}
		if err := m.TreesHa.Write(t.X, t.Y, t.W, t.H, trees); err != nil {
			return full, err
		}
		if m.DeadShare == nil {
			continue
		}
		known, dead := d.sum[knownTrees][:n], d.sum[deadTrees][:n]
		if !d.points(c.stands, s.frame.W, deadTrees, dead) {
			continue
		}
		d.points(c.stands, s.frame.W, knownTrees, known)
		share := d.share[:n]
		for j := range share {
			share[j] = ShareProfile
			if surveyed(j) {
				share[j] = s.storeShare(s.hosts[m.Host].DeadShare, known[j], dead[j])
			}
		}
		if err := m.DeadShare.Write(t.X, t.Y, t.W, t.H, share); err != nil {
			return full, err
		}
	}
	return full, nil
}

// storeShare mixes the profile's dead share with the smoothed records near a
// cell, as the mean of a Beta distribution whose prior is worth prior trees.
// One tree in the cell itself counts kernel[0]², so the prior is counted in
// these. Trees beyond the border are not made up for: only trees that were
// seen are evidence.
func (s *settings) storeShare(profile, known, dead float64) uint8 {
	prior := s.prior * s.kernel[0] * s.kernel[0]
	got := math.Round(ShareUnit * min(1, (dead+prior*profile)/(known+prior)))
	if got <= math.Round(ShareUnit*profile) {
		return ShareProfile
	}
	return uint8(got)
}
