package terrain

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// Counting the lower cells of a circle is most of the work of valley flatness:
// 112 comparisons a cell. Heights become ranks within a window first; ranks
// keep the order and fit 15 bits, so that one subtraction of a 64-bit word
// compares four pairs. The counts are exact.

// Radii (cells) of the circle of neighbours that a cell is compared with.
const (
	firstRadius = 3
	laterRadius = 6
)

const (
	windowSide  = 180                           // cells; windowSide² ranks fit 15 bits
	windowInner = windowSide - 2*laterRadius    // cells with their whole circle inside; a multiple of 3 and 4
	missingRank = 1<<15 - 1                     // above every rank: a missing cell is lower than none
	rankStride  = 2 * windowSide                // bytes
	rankTops    = uint64(0x8000_8000_8000_8000) // the free bit of each of the four
	rankOnes    = uint64(0x0001_0001_0001_0001)
)

// circleHalf gives, for rows 0, 1 … radius away, how far the circle reaches to each side.
func circleHalf(radius int) []int {
	half := make([]int, radius+1)
	for dy := range half {
		for (half[dy]+1)*(half[dy]+1)+dy*dy <= radius*radius {
			half[dy]++
		}
	}
	return half
}

var firstHalf, laterHalf = circleHalf(firstRadius), circleHalf(laterRadius)

// circleCells is the number of neighbours in a whole circle.
func circleCells(half []int) int {
	n := 2 * half[0]
	for _, x := range half[1:] {
		n += 2 * (2*x + 1)
	}
	return n
}

// ranked is a window of windowSide columns, its heights replaced by ranks.
type ranked struct {
	rank        []byte // uint16, little-endian
	keys, other []uint64
	gaps        bool     // a cell is missing
	known       []uint16 // cells with a height in each row before each column; kept when there are gaps
}

// load takes in rows of windowSide cells.
func (r *ranked) load(z []float32, rows int) {
	n := rows * windowSide
	r.rank = grown(r.rank, 2*n)
	r.keys, r.other = grown(r.keys, n), grown(r.other, n)
	keys := r.keys[:0]
	low, high := uint32(math.MaxUint32), uint32(0)
	for i, v := range z[:n] {
		if v != v {
			binary.LittleEndian.PutUint16(r.rank[2*i:], missingRank)
			continue
		}
		u := math.Float32bits(v + 0) // −0 + 0 is 0
		u ^= uint32(int32(u)>>31) | 1<<31
		low, high = min(low, u), max(high, u)
		keys = append(keys, uint64(u)<<16|uint64(i))
	}
	if r.gaps = len(keys) < n; r.gaps {
		r.countKnown(z, rows)
	}
	if len(keys) == 0 {
		return
	}
	keys = sortKeys(keys, r.other, low, high)
	rank, last := uint16(0), keys[0]>>16
	for _, k := range keys {
		if k>>16 != last {
			rank++
			last = k >> 16
		}
		binary.LittleEndian.PutUint16(r.rank[2*(k&0xffff):], rank)
	}
}

func (r *ranked) countKnown(z []float32, rows int) {
	r.known = grown(r.known, rows*(windowSide+1))
	for y := range rows {
		n, to := uint16(0), r.known[y*(windowSide+1):]
		for x, v := range z[y*windowSide : (y+1)*windowSide] {
			to[x] = n
			if v == v {
				n++
			}
		}
		to[windowSide] = n
	}
}

// sortKeys sorts by the upper bits, which lie between low and high, moving
// between the two slices; it gives the one they end up in.
func sortKeys(keys, other []uint64, low, high uint32) []uint64 {
	const digit = 12
	width := bits.Len32(high - low)
	passes := (width + digit - 1) / digit
	if passes == 0 {
		return keys
	}
	width = (width + passes - 1) / passes
	mask := uint32(1)<<width - 1
	other = other[:len(keys)]
	for p := range passes {
		var start [1 << digit]uint32
		shift := p * width
		for _, k := range keys {
			start[((uint32(k>>16)-low)>>shift&mask)&(1<<digit-1)]++
		}
		sum := uint32(0)
		for i := range start[:mask+1] {
			start[i], sum = sum, sum+start[i]
		}
		for _, k := range keys {
			at := &start[((uint32(k>>16)-low)>>shift&mask)&(1<<digit-1)]
			other[*at] = k
			*at++
		}
		keys, other = other, keys
	}
	return keys
}

// rankRow is sixteen ranks of a row: of the cells from six before the first of
// four to six behind the last.
type rankRow = [32]byte

// lt has a one in each of four lanes whose cell, k − 6 columns off, is lower.
func lt(c uint64, p *rankRow, k int) uint64 {
	return (c - binary.LittleEndian.Uint64(p[2*k:2*k+8])) >> 15 & rankOnes
}

// lower counts, for the four cells from (x, y) of the inner part on, the
// lower ones within the first radius and within the later.
func (r *ranked) lower(x, y int) (first, later uint64) {
	row := func(dy int) *rankRow {
		at := (y+laterRadius+dy)*rankStride + 2*x
		return (*rankRow)(r.rank[at : at+32])
	}
	p := row(0)
	c := binary.LittleEndian.Uint64(p[2*laterRadius:2*laterRadius+8]) | rankTops
	c -= rankOnes // lower, not equal
	first = lt(c, p, 3) + lt(c, p, 4) + lt(c, p, 5) + lt(c, p, 7) + lt(c, p, 8) + lt(c, p, 9)
	later = lt(c, p, 0) + lt(c, p, 1) + lt(c, p, 2) + lt(c, p, 10) + lt(c, p, 11) + lt(c, p, 12)
	for _, dy := range [4]int{-2, -1, 1, 2} {
		p = row(dy)
		first += lt(c, p, 4) + lt(c, p, 5) + lt(c, p, 6) + lt(c, p, 7) + lt(c, p, 8)
		later += lt(c, p, 1) + lt(c, p, 2) + lt(c, p, 3) + lt(c, p, 9) + lt(c, p, 10) + lt(c, p, 11)
	}
	for _, dy := range [2]int{-3, 3} {
		p = row(dy)
		first += lt(c, p, 6)
		later += lt(c, p, 1) + lt(c, p, 2) + lt(c, p, 3) + lt(c, p, 4) + lt(c, p, 5) +
			lt(c, p, 7) + lt(c, p, 8) + lt(c, p, 9) + lt(c, p, 10) + lt(c, p, 11)
		p = row(dy / 3 * 4)
		later += lt(c, p, 2) + lt(c, p, 3) + lt(c, p, 4) + lt(c, p, 5) + lt(c, p, 6) +
			lt(c, p, 7) + lt(c, p, 8) + lt(c, p, 9) + lt(c, p, 10)
		p = row(dy / 3 * 5)
		later += lt(c, p, 3) + lt(c, p, 4) + lt(c, p, 5) + lt(c, p, 6) + lt(c, p, 7) + lt(c, p, 8) + lt(c, p, 9)
		later += lt(c, row(dy/3*6), 6)
	}
	return first, first + later
}

// neighbours counts, in a window with gaps, the cells with a height in the circle around (x, y) of the inner part.
func (r *ranked) neighbours(x, y int, half []int) int {
	n := 0
	for dy := 1 - len(half); dy < len(half); dy++ {
		reach := half[max(dy, -dy)]
		known := r.known[(y+laterRadius+dy)*(windowSide+1)+x+laterRadius-reach:]
		n += int(known[2*reach+1] - known[0])
	}
	return n - 1
}

// shareOf is the share of lower neighbours; a half where there are none.
func shareOf(lower, all int) float32 {
	if all == 0 {
		return 0.5
	}
	return float32(float64(lower) / float64(all))
}
