package inventory

import (
	"context"
	"fmt"
	"slices"
	"sync/atomic"

	"rillwood/raster"
)

// Merge makes one Measured of each host from several sources, in the order of
// hosts. Where two sources measured a host, each cell takes the one with the
// greater weight, the later one on a tie; its density is taken whole, not
// averaged. A dead share that the cell's source lacks is taken from the other
// source if that has weight there. Merge takes over the planes: of those it
// does not hand on it closes what is no longer needed, and all after an error. The strings say which
// hosts were measured more than once. The result does not depend on workers.
func Merge(ctx context.Context, hosts []Host, all []Measured, scratch *raster.Scratch, workers int) ([]Measured, []string, error) {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b Measured) int { return a.Host - b.Host })
	var out []Measured
	var notes []string
	for _, m := range sorted {
		if len(out) == 0 || out[len(out)-1].Host != m.Host {
			out = append(out, m)
			continue
		}
		last := &out[len(out)-1]
		both, laterCells, err := merge(ctx, *last, m, scratch, workers)
		if err != nil {
			Close(all)
			Close(out)
			return nil, nil, fmt.Errorf("measured trees of %q: join %q and %q: %w", hosts[m.Host].ID, last.From, m.From, err)
		}
		notes = append(notes, fmt.Sprintf("%s: measured by %s and by %s; each cell takes the one with the greater weight, the later on a tie: %d cells are of the later", hosts[m.Host].Common, last.From, m.From, laterCells))
		for _, old := range []Measured{*last, m} {
			old.TreesHa.Close()
			old.DeadShare.Close()
			if !holds(all, old.Weight) {
				old.Weight.Close() // made here, for the two before
			}
		}
		*last = both
	}
	for _, m := range all {
		if !holds(out, m.Weight) {
			m.Weight.Close()
		}
	}
	return out, notes, nil
}

// holds tells whether one of them uses the weight plane, which hosts share.
func holds(all []Measured, weight *raster.Plane[uint8]) bool {
	return slices.ContainsFunc(all, func(m Measured) bool { return m.Weight == weight })
}

// merge joins two sources of one host, b the later.
func merge(ctx context.Context, a, b Measured, scratch *raster.Scratch, workers int) (m Measured, laterCells int64, err error) {
	w, h := a.Weight.Size()
	if bw, bh := b.Weight.Size(); bw != w || bh != h {
		return m, 0, fmt.Errorf("%d × %d cells and %d × %d; read both for one frame", w, h, bw, bh)
	}
	m = Measured{Host: a.Host, From: a.From + "; " + b.From, Records: a.Records + b.Records}
	defer func() {
		if err != nil {
			Close([]Measured{m})
		}
	}()
	if m.TreesHa, err = raster.NewPlane[uint16](w, h, scratch); err != nil {
		return
	}
	if m.Weight, err = raster.NewPlane[uint8](w, h, scratch); err != nil {
		return
	}
	if a.DeadShare != nil || b.DeadShare != nil {
		if m.DeadShare, err = raster.NewPlane[uint8](w, h, scratch); err != nil {
			return
		}
	}
	var cells, later atomic.Int64
	err = raster.Parallel(ctx, workers, (h+bandRows-1)/bandRows, func(_, i int) error {
		y := i * bandRows
		n := min(bandRows, h-y)
		var first, second rows
		if err := first.read(a, y, w, n); err != nil {
			return err
		}
		if err := second.read(b, y, w, n); err != nil {
			return err
		}
		for j, v := range second.weight {
			if v > 0 && v >= first.weight[j] {
				later.Add(1)
				first.trees[j] = second.trees[j]
				if first.weight[j] == 0 || second.share[j] != ShareProfile {
					first.share[j] = second.share[j]
				}
				first.weight[j] = v
			} else if v > 0 && first.share[j] == ShareProfile {
				first.share[j] = second.share[j]
			}
			if first.weight[j] > 0 {
				cells.Add(1)
			}
		}
		if m.DeadShare != nil {
			if err := m.DeadShare.Write(0, y, w, n, first.share); err != nil {
				return err
			}
		}
		if err := m.Weight.Write(0, y, w, n, first.weight); err != nil {
			return err
		}
		return m.TreesHa.Write(0, y, w, n, first.trees)
	})
	m.Cells = cells.Load()
	return m, later.Load(), err
}

// rows is a band of one source.
type rows struct {
	trees         []uint16
	share, weight []uint8
}

func (r *rows) read(m Measured, y, w, n int) error {
	r.trees, r.share, r.weight = make([]uint16, w*n), make([]uint8, w*n), make([]uint8, w*n)
	if m.DeadShare != nil {
		if err := m.DeadShare.Read(0, y, w, n, r.share); err != nil {
			return err
		}
	} else {
		for i := range r.share {
			r.share[i] = ShareProfile
		}
	}
	if err := m.Weight.Read(0, y, w, n, r.weight); err != nil {
		return err
	}
	return m.TreesHa.Read(0, y, w, n, r.trees)
}
