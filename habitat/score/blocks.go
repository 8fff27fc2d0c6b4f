package score

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"github.com/paulmach/orb"
)

// Block is a square of a grid whose corner is the origin: floor(x / side),
// floor(y / side).
type Block struct{ X, Y int }

// Blocks tells the block of each point. Points and side are in metres of one
// projected system.
func Blocks(points []orb.Point, side float64) ([]Block, error) {
	if !(side > 0) || math.IsInf(side, 0) {
		return nil, fmt.Errorf("blocks: expected a side above 0 m, found %g", side)
	}
	out := make([]Block, len(points))
	for i, p := range points {
		x, y := math.Floor(p[0]/side), math.Floor(p[1]/side)
		if !(math.Abs(x) < 1<<53 && math.Abs(y) < 1<<53) {
			return nil, fmt.Errorf("blocks: point %d: expected coordinates in metres, found %g, %g", i, p[0], p[1])
		}
		out[i] = Block{int(x), int(y)}
	}
	return out, nil
}

// distinct is the blocks in use by X, then Y, and the place of each point's
// block among them.
func distinct(blocks []Block) (list []Block, place []int) {
	list = slices.Clone(blocks)
	slices.SortFunc(list, compareBlocks)
	list = slices.Compact(list)
	place = make([]int, len(blocks))
	for i, b := range blocks {
		place[i], _ = slices.BinarySearchFunc(list, b, compareBlocks)
	}
	return list, place
}

func compareBlocks(a, b Block) int {
	if a.X != b.X {
		return a.X - b.X
	}
	return a.Y - b.Y
}

// Folds puts whole blocks into k folds, from 0: blocks in use by X, then Y,
// are dealt out in turn (blocked cross-validation: Roberts and others 2017,
// Ecography 40:913–929). An error says when there are fewer blocks than folds.
func Folds(points []orb.Point, side float64, k int) ([]int, error) {
	blocks, err := Blocks(points, side)
	if err != nil {
		return nil, err
	}
	list, place := distinct(blocks)
	if err := enough(len(list), k); err != nil {
		return nil, err
	}
	for i := range place {
		place[i] %= k
	}
	return place, nil
}

// BalancedFolds is Folds with folds as equal as whole blocks allow: blocks by
// falling weight, each to the lightest fold so far; of equals the first by X,
// then Y, and the lowest fold. weights are of the points, nil for one each.
func BalancedFolds(points []orb.Point, weights []float64, side float64, k int) ([]int, error) {
	blocks, err := Blocks(points, side)
	if err != nil {
		return nil, err
	}
	list, place := distinct(blocks)
	if err := enough(len(list), k); err != nil {
		return nil, err
	}
	heavy := make([]float64, len(list))
	for i, b := range place {
		heavy[b] += weight(weights, i)
	}
	turn := make([]int, len(list))
	for b := range turn {
		turn[b] = b
	}
	slices.SortStableFunc(turn, func(a, b int) int {
		switch {
		case heavy[a] > heavy[b]:
			return -1
		case heavy[a] < heavy[b]:
			return 1
		}
		return 0
	})
	load := make([]float64, k)
	fold := make([]int, len(list))
	for rank, b := range turn {
		f := 0
		for g := range load {
			if load[g] < load[f] {
				f = g
			}
		}
		// Every fold gets a block, even where weights are 0.
		if rank < k {
			f = rank
		}
		fold[b] = f
		load[f] += heavy[b]
	}
	for i, b := range place {
		place[i] = fold[b]
	}
	return place, nil
}

func enough(blocks, k int) error {
	switch {
	case k < 2:
		return fmt.Errorf("folds: expected 2 or more, found %d", k)
	case blocks < k:
		return fmt.Errorf("folds: %d blocks cannot make %d folds; take a smaller side or fewer folds", blocks, k)
	}
	return nil
}

// Checkerboard is two folds of alternate blocks: X + Y even, 0, or odd, 1.
func Checkerboard(points []orb.Point, side float64) ([]int, error) {
	blocks, err := Blocks(points, side)
	if err != nil {
		return nil, err
	}
	out := make([]int, len(blocks))
	for i, b := range blocks {
		out[i] = (b.X + b.Y) & 1
	}
	return out, nil
}

// RandomFolds deals n records out to k folds of equal size, give or take one,
// in an order drawn from a seed, which must be shown beside what comes of it.
func RandomFolds(n, k int, seed uint64) ([]int, error) {
	if k < 2 || n < k {
		return nil, fmt.Errorf("folds: expected 2 or more, and no more than the %d records, found %d", n, k)
	}
	out := make([]int, n)
	for turn, i := range rand.New(rand.NewPCG(seed, 0)).Perm(n) {
		out[i] = turn % k
	}
	return out, nil
}
