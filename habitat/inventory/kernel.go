package inventory

import (
	"math"
	"slices"
)

// truncate is where the kernel ends, in standard deviations; 0.006 % of a
// one-dimensional Gaussian lies beyond.
const truncate = 4

// gaussian gives one half of a sampled Gaussian kernel, from the middle to its
// end at truncate standard deviations (sigma in cells). The whole kernel, both
// halves, sums to 1.
func gaussian(sigma float64) []float64 {
	k := make([]float64, int(truncate*sigma+0.5)+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-0.5 * float64(i) * float64(i) / (sigma * sigma))
		if sum += k[i]; i > 0 {
			sum += k[i]
		}
	}
	for i := range k {
		k[i] /= sum
	}
	return k
}

// What a cell of trees counts.
const (
	allTrees   = iota // all that count
	knownTrees        // those with a status
	deadTrees         // of these, dead or dying
	channels
)

// stand is the trees of one cell.
type stand struct {
	cell  int64 // row·W + column
	trees [channels]float32
}

// window smooths one window of a grid. Its sums run over sources by row, then
// column, and so do not depend on how the grid is cut.
type window struct {
	x, y, w, h int
	kernel     []float64
	row        []float64
}

// points writes the smoothed stands (sorted by cell, on a grid gridW wide) to
// out, trees per cell. It tells whether any tree is near.
func (s *window) points(stands []stand, gridW int, channel int, out []float64) bool {
	clear(out)
	r := len(s.kernel) - 1
	from := func(row int) int {
		i, _ := slices.BinarySearchFunc(stands, int64(row)*int64(gridW), func(t stand, c int64) int { return int(t.cell - c) })
		return i
	}
	any := false
	for i, end := from(s.y-r), from(s.y+s.h+r); i < end; {
		y := int(stands[i].cell / int64(gridW))
		lo, hi := s.w, 0
		for ; i < end && int(stands[i].cell/int64(gridW)) == y; i++ {
			n := float64(stands[i].trees[channel])
			x := int(stands[i].cell%int64(gridW)) - s.x
			a, b := max(x-r, 0), min(x+r+1, s.w)
			if n == 0 || a >= b {
				continue
			}
			if lo > a {
				lo = a
			}
			hi = max(hi, b)
			for c := a; c < b; c++ {
				s.row[c] += n * s.kernel[abs(c-x)]
			}
		}
		if lo < hi {
			any = true
			s.spread(y, lo, hi, out)
		}
	}
	return any
}

// spread adds columns lo … hi−1 of the smoothed source row y to the rows of out
// it reaches, and clears them.
func (s *window) spread(y, lo, hi int, out []float64) {
	r := len(s.kernel) - 1
	src := s.row[lo:hi]
	for oy := max(y-r, s.y); oy < min(y+r+1, s.y+s.h); oy++ {
		k := s.kernel[abs(oy-y)]
		dst := out[(oy-s.y)*s.w+lo : (oy-s.y)*s.w+hi]
		for i, v := range src {
			dst[i] += k * v
		}
	}
	clear(src)
}

// mass writes to out how much of the kernel around each cell lies on surveyed
// cells. outside is the window with r cells more on every side, 0 on surveyed
// cells.
func (s *window) mass(outside []uint8, out []float64) {
	clear(out)
	r := len(s.kernel) - 1
	// sums[i] is the kernel from its west end up to, not with, place i.
	sums := make([]float64, 2*r+2)
	for i := range 2*r + 1 {
		sums[i+1] = sums[i] + s.kernel[abs(i-r)]
	}
	wide := s.w + 2*r
	for y := range s.h + 2*r {
		row := outside[y*wide : (y+1)*wide]
		lo, hi := s.w, 0
		for a := 0; a < wide; a++ {
			if row[a] != 0 {
				continue
			}
			b := a
			for b < wide && row[b] == 0 {
				b++
			}
			// Cell c of the window has its kernel over places c … c+2r of row.
			first, end := max(a-2*r, 0), min(b, s.w)
			for c := first; c < end; c++ {
				s.row[c] += sums[min(b-c, 2*r+1)] - sums[max(a-c, 0)]
			}
			lo, hi = min(lo, first), max(hi, end)
			a = b
		}
		if lo < hi {
			s.spread(s.y-r+y, lo, hi, out)
		}
	}
}

func abs(i int) int {
	if i < 0 {
		return -i
	}
	return i
}
