package region

import (
	"context"
	"fmt"
	"math"
	"slices"

	"rillwood/raster"
)

// Stats sums up the cells of a patch in one plane. NaN cells are left out.
type Stats struct {
	Count int     // cells that hold a value
	Sum   float64 // compensated for rounding, cells in the order of rows
	Min   float64 // NaN when Count is 0
	Max   float64 // NaN when Count is 0
}

// Mean is Sum/Count, NaN when there is no cell.
func (s Stats) Mean() float64 { return s.Sum / float64(s.Count) }

// gapRead is how many cells between two runs are read along rather than
// skipped, when the plane is in a file: a second read costs about as much.
const gapRead = 1024

// Zonal gives the exact statistics of plane over each patch: every cell counts
// once, whole. Values equal to one of skip, and NaN, are left out. Of a plane
// in a scratch file only the stretches under the patches are read.
func Zonal[T raster.Elem](ctx context.Context, plane *raster.Plane[T], patches []Patch, skip ...T) ([]Stats, error) {
	w, h := plane.Size()
	var runs []Run
	for i, p := range patches {
		for _, r := range p.Runs {
			if r.Y < 0 || int(r.Y) >= h || r.X0 < 0 || int(r.X1) > w || r.X0 >= r.X1 {
				return nil, fmt.Errorf("zonal statistics: patch %d has columns %d to %d of row %d, outside a plane of %d × %d; give patches of the same frame", i, r.X0, r.X1, r.Y, w, h)
			}
			r.Group = int32(i)
			runs = append(runs, r)
		}
	}
	mem := plane.Mem()
	if mem == nil {
		sortRuns(runs) // so that runs of all patches can share a read
	}
	stats := make([]Stats, len(patches))
	for i := range stats {
		stats[i].Min, stats[i].Max = math.Inf(1), math.Inf(-1)
	}
	lost := make([]float64, len(patches)) // what rounding took from each sum
	var buf []T
	for i := 0; i < len(runs); {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		j, end := i+1, runs[i].X1
		for mem == nil && j < len(runs) && runs[j].Y == runs[i].Y && runs[j].X0 <= end+gapRead {
			end = max(end, runs[j].X1)
			j++
		}
		y, x0 := int(runs[i].Y), int(runs[i].X0)
		var cells []T
		if mem != nil {
			cells = mem[y*w+x0 : y*w+int(end)]
		} else {
			buf = slices.Grow(buf[:0], int(end)-x0)[:int(end)-x0]
			if err := plane.Read(x0, y, int(end)-x0, 1, buf); err != nil {
				return nil, err
			}
			cells = buf
		}
		for _, r := range runs[i:j] {
			add(&stats[r.Group], &lost[r.Group], cells[int(r.X0)-x0:int(r.X1)-x0], skip)
		}
		i = j
	}
	for i := range stats {
		if !math.IsInf(stats[i].Sum, 0) {
			stats[i].Sum += lost[i]
		}
		if stats[i].Count == 0 {
			stats[i].Min, stats[i].Max = math.NaN(), math.NaN()
		}
	}
	return stats, nil
}

func add[T raster.Elem](s *Stats, lost *float64, cells []T, skip []T) {
	count, sum, low, high, err := s.Count, s.Sum, s.Min, s.Max, *lost
	for _, c := range cells {
		if c != c || len(skip) > 0 && slices.Contains(skip, c) {
			continue
		}
		v := float64(c)
		count++
		if v < low {
			low = v
		}
		if v > high {
			high = v
		}
		// What rounding takes from the sum (two-sum, Knuth 1969): no branch.
		t := sum + v
		w := t - sum
		err += (sum - (t - w)) + (v - w)
		sum = t
	}
	s.Count, s.Sum, s.Min, s.Max, *lost = count, sum, low, high, err
}
