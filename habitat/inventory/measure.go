package inventory

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"rillwood/raster"
)

// tileSide is the side of a window that is smoothed at a time: its sums fit a
// core's cache.
const tileSide = 512

// census is one host's trees on the extent's cells.
type census struct {
	stands  []stand // sorted by cell
	records int
	dead    bool
}

// count puts the records of each covered host into the extent's cells and
// tells how many trees that count lie outside the surveyed ground.
func (e *extent) count(records []record, hosts int, covered []bool) ([]census, int, error) {
	type tree struct {
		cell   int64
		trees  float64
		status status
	}
	lists := make([][]tree, hosts)
	outside := 0
	row, rowY := make([]uint8, e.frame.W), -1
	// In order of rows, so that each row of the ground is read once.
	byRow := make([]int32, 0, len(records))
	for i, t := range records {
		if t.parts == nil {
			continue
		}
		if _, _, ok := e.frame.At(t.x, t.y); ok {
			byRow = append(byRow, int32(i))
		} else if !e.cutOff(t) {
			outside++
		}
	}
	slices.SortStableFunc(byRow, func(a, b int32) int { return cmp.Compare(records[b].y, records[a].y) })
	for _, i := range byRow {
		t := records[i]
		x, y, _ := e.frame.At(t.x, t.y)
		if y != rowY {
			if err := e.outside.Read(0, y, e.frame.W, 1, row); err != nil {
				return nil, 0, err
			}
			rowY = y
		}
		if row[x] != 0 {
			outside++
			continue
		}
		for _, p := range t.parts {
			if covered[p.host] {
				lists[p.host] = append(lists[p.host], tree{int64(y)*int64(e.frame.W) + int64(x), p.share * t.trees, t.status})
			}
		}
	}
	out := make([]census, hosts)
	for h, list := range lists {
		c := &out[h]
		c.records = len(list)
		slices.SortStableFunc(list, func(a, b tree) int { return cmp.Compare(a.cell, b.cell) })
		for i := 0; i < len(list); {
			s := stand{cell: list[i].cell}
			var sum [channels]float64
			for ; i < len(list) && list[i].cell == s.cell; i++ {
				t := list[i]
				sum[allTrees] += t.trees
				if t.status != statusNone {
					sum[knownTrees] += t.trees
				}
				if t.status == statusDead {
					sum[deadTrees] += t.trees
					c.dead = true
				}
			}
			for k, v := range sum {
				s.trees[k] = float32(v)
			}
			c.stands = append(c.stands, s)
		}
		lists[h] = nil
	}
	return out, outside, nil
}

// cutOff tells whether a record beyond the extent's cells may yet lie on
// surveyed ground: the extent is cut where the ground goes on beyond reach of
// the map.
func (e *extent) cutOff(t record) bool {
	for _, p := range e.polygons {
		if p.Bound().Contains([2]float64{t.x, t.y}) {
			return true
		}
	}
	return false
}

// measure smooths the counted trees of every covered host.
func (e *extent) measure(ctx context.Context, r *reading, o settings, hosts []Host, covered []bool, f raster.Frame, scratch *raster.Scratch, workers int) (out []Measured, notes []string, err error) {
	counts, outside, err := e.count(r.records, len(hosts), covered)
	if err != nil {
		return nil, nil, err
	}
	r.records = nil
	if outside > 0 {
		notes = append(notes, fmt.Sprintf("%s: %s of hosts outside the surveyed ground not counted", o.name, counted(outside)))
	}
	weight, n, err := e.weigh(ctx, f, o.blendM, scratch, workers)
	if err != nil {
		return nil, nil, err
	}
	defer func() {
		if err != nil {
			weight.Close()
			Close(out)
			out = nil
		}
	}()
	var left []string
	for h := range hosts {
		if !covered[h] {
			left = append(left, hosts[h].Common)
			continue
		}
		m := Measured{Host: h, Weight: weight, From: o.name, Records: counts[h].records, Cells: n}
		if m.TreesHa, err = raster.NewPlane[uint16](f.W, f.H, scratch); err != nil {
			return out, nil, err
		}
		out = append(out, m)
		if !counts[h].dead {
			continue
		}
		if out[len(out)-1].DeadShare, err = raster.NewPlane[uint8](f.W, f.H, scratch); err != nil {
			return out, nil, err
		}
		if err = out[len(out)-1].DeadShare.Fill(ctx, ShareProfile); err != nil {
			return out, nil, err
		}
	}
	if len(left) > 0 {
		notes = append(notes, fmt.Sprintf("%s: no record of %s: left to the model; where they were looked for, say that the source covers them", o.name, strings.Join(left, ", ")))
	}
	if len(out) == 0 {
		weight.Close()
		return nil, append(notes, o.name+": no record names a host; nothing is taken from it"), nil
	}
	s := smoothing{extent: e, settings: o, hosts: hosts, counts: counts, run: f, out: out}
	full, err := s.all(ctx, workers)
	if err != nil {
		return out, nil, err
	}
	if full > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d cells hold more than the %d trees per hectare that are kept", o.name, full, 65535/TreesUnit))
	}
	return out, notes, nil
}
